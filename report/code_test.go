package report

import (
	"image"
	"strings"
	"testing"

	"github.com/makiuchi-d/gozxing"
	"github.com/makiuchi-d/gozxing/qrcode"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// readCode reads the QR code in the upper right corner of a page with a
// library that shares nothing with the one that drew it.
func readCode(t *testing.T, p Page) (string, error) {
	t.Helper()
	paper := p.Paper()
	c := newRasterCanvas(paper.Width, paper.Height, DPI)
	p.Draw(c)
	size := c.Image().Bounds().Size()
	corner := image.Rect(size.X*2/3, size.Y/30, size.X, size.Y/6)
	part := image.NewGray(image.Rect(0, 0, corner.Dx(), corner.Dy()))
	for y := range corner.Dy() {
		for x := range corner.Dx() {
			part.Set(x, y, c.Image().At(corner.Min.X+x, corner.Min.Y+y))
		}
	}
	picture, err := gozxing.NewBinaryBitmapFromImage(part)
	require.NoError(t, err)
	read, err := qrcode.NewQRCodeReader().Decode(picture, nil)
	if err != nil {
		return "", err
	}
	return read.GetText(), nil
}

func TestCodeIsReadBackFromThePicture(t *testing.T) {
	for _, paper := range Papers {
		f := exampleFacts()
		f.Paper = paper
		f.ResultHash = "sha256:0011223344556677ffff"
		text, err := readCode(t, Compose(f)[0])
		require.NoError(t, err, paper.Name)
		assert.Equal(t, "holdbench run 019abc12-7f3e-7cc4-9b1a-5d4c3b2a1f00 result sha256 0011223344556677", text)
	}
}

func TestCodeSaysWhatIsKnown(t *testing.T) {
	assert.Equal(t, "", codeText("", ""))
	assert.Equal(t, "holdbench run 7", codeText("7", ""))
	assert.Equal(t, "holdbench result sha256 abc", codeText("", "sha256:abc"))
	_, ok := codeOf("")
	assert.False(t, ok)
	_, ok = codeOf(strings.Repeat("x", 1000))
	assert.False(t, ok, "squares too small to be read")
	f := foreignFacts()
	f.ResultHash = ""
	_, err := readCode(t, Compose(f)[0])
	assert.Error(t, err, "nothing known, no code")
}
