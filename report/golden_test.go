package report

import (
	"flag"
	"image"
	"image/draw"
	"image/png"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "draw the golden pictures anew; look at them before you commit")

// Golden pictures are grey and a quarter of the resolution that users get. A drawing
// may differ by so much: the mean over all dots, and the share of dots that
// differ by more than an eighth of the scale.
const (
	goldenShrink = 2
	goldenMean   = 0.02 // of 255
	goldenShare  = 0.0002
)

// shrunk returns the page in grey, averaged over squares of dots.
func shrunk(p Page) *image.Gray {
	paper := p.Paper()
	c := newRasterCanvas(paper.Width, paper.Height, DPI/2)
	p.Draw(c)
	full := image.NewGray(c.Image().Bounds())
	draw.Draw(full, full.Rect, c.Image(), image.Point{}, draw.Src)
	size := full.Bounds().Size()
	small := image.NewGray(image.Rect(0, 0, size.X/goldenShrink, size.Y/goldenShrink))
	for y := range small.Rect.Dy() {
		for x := range small.Rect.Dx() {
			var sum int
			for k := range goldenShrink * goldenShrink {
				sum += int(full.Pix[(y*goldenShrink+k/goldenShrink)*full.Stride+x*goldenShrink+k%goldenShrink])
			}
			small.Pix[y*small.Stride+x] = uint8(sum / (goldenShrink * goldenShrink))
		}
	}
	return small
}

// difference returns the mean difference of two pictures of the same size and
// the share of dots that differ much.
func difference(a, b *image.Gray) (mean, share float64) {
	for i := range a.Pix {
		d := int(a.Pix[i]) - int(b.Pix[i])
		mean += float64(max(d, -d))
		if max(d, -d) > 32 {
			share++
		}
	}
	n := float64(len(a.Pix))
	return mean / n, share / n
}

func goldenFile(name string) string {
	return filepath.Join("testdata", strings.NewReplacer(" ", "-", "'", "").Replace(name)+".png")
}

func readGolden(t *testing.T, name string) *image.Gray {
	t.Helper()
	f, err := os.Open(goldenFile(name))
	require.NoError(t, err, "draw it with: go test ./report -run Golden -update")
	defer f.Close()
	picture, err := png.Decode(f)
	require.NoError(t, err)
	gray, ok := picture.(*image.Gray)
	require.True(t, ok)
	return gray
}

// goldenPages are one page of every kind, and summaries of every verdict.
func goldenPages(t *testing.T) map[string]Page {
	pages := map[string]Page{}
	for _, c := range pageCases[:4] {
		pages[c.name] = Compose(c.facts())[0]
	}
	letter := exampleFacts()
	letter.Paper = Letter
	pages["good unit on Letter"] = Compose(letter)[0]
	pages["another logger's file"] = Compose(foreignFacts())[0]
	for _, kind := range pageKinds[1:] {
		c := newComposer(exampleOf(kind))
		made := c.number(kind.compose(c), c.source())
		require.NotEmpty(t, made, kind.name)
		pages["kind "+kind.name] = made[0]
	}
	pages["lot"] = ComposeLot(exampleLot())[0]
	pages["plan"] = ComposePlan(examplePlan(t))[0]
	return pages
}

// exampleOf is a unit that has a page of that kind, with something on it.
func exampleOf(kind pageKind) Facts {
	switch kind.name {
	case "challenge":
		return challengedFacts()
	case "files":
		return largeFacts()
	}
	return exampleFacts()
}

func TestGoldenPictures(t *testing.T) {
	for name, page := range goldenPages(t) {
		got := shrunk(page)
		if *update {
			require.NoError(t, os.MkdirAll("testdata", 0o755))
			f, err := os.Create(goldenFile(name))
			require.NoError(t, err)
			require.NoError(t, png.Encode(f, got))
			require.NoError(t, f.Close())
			continue
		}
		want := readGolden(t, name)
		require.Equal(t, want.Rect, got.Rect, name)
		mean, share := difference(want, got)
		t.Logf("%s: mean difference %.4f of 255, %.5f of the dots differ much", name, mean, share)
		assert.Less(t, mean, goldenMean, name)
		assert.Less(t, share, goldenShare, name)
	}
}

// The tolerance must not be so wide that another verdict or another figure
// passes.
func TestGoldenToleranceTellsPagesApart(t *testing.T) {
	golden := readGolden(t, "good unit")
	f := exampleFacts()
	for i := range f.Assessments[0].Curves.Fitted {
		f.Assessments[0].Curves.Fitted[i] -= 0.2e5
	}
	_, share := difference(golden, shrunk(Compose(f)[0]))
	assert.Greater(t, share, goldenShare, "another fit")
	f = exampleFacts()
	f.Result.Operator = "Somebody Else"
	mean, share := difference(golden, shrunk(Compose(f)[0]))
	assert.True(t, mean > goldenMean || share > goldenShare, "another operator: %g, %g", mean, share)
}
