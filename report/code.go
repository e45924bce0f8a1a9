package report

import (
	"strings"

	goqr "github.com/piglig/go-qr"
	"gonum.org/v1/plot/vg"

	"holdbench/report/figure"
	"holdbench/report/lettering"
)

// The code's size on paper, and how many of its squares it may have along a
// side: a camera still reads squares of 0.4 mm.
const (
	codeWidth    = 20 * mm
	codeQuiet    = 4 // squares that stay empty around it (ISO/IEC 18004)
	codeSidesMax = 49
)

// codeText is what the page's code says: plain words, so that whatever reads
// it shows something that explains itself. It is empty where neither run nor
// result is known; hash is "sha256:…".
func codeText(run, hash string) string {
	parts := []string{"holdbench"}
	if run != "" {
		parts = append(parts, "run "+run)
	}
	if digits := strings.TrimPrefix(hash, "sha256:"); digits != "" {
		parts = append(parts, "result sha256 "+digits[:min(16, len(digits))])
	}
	if len(parts) == 1 {
		return ""
	}
	return strings.Join(parts, " ")
}

// codeOf returns the QR code (ISO/IEC 18004) of a text, rows from the top,
// true where it is dark. ok is false for no text, and for one whose squares
// would be too small to be read.
func codeOf(text string) (dark [][]bool, ok bool) {
	if text == "" {
		return nil, false
	}
	code, err := goqr.EncodeText(text, goqr.Medium)
	if err != nil || code.Size() > codeSidesMax { // too long a text: the page goes without
		return nil, false
	}
	dark = make([][]bool, code.Size())
	for y := range dark {
		dark[y] = make([]bool, code.Size())
		for x := range dark[y] {
			dark[y][x] = code.Module(x, y)
		}
	}
	return dark, true
}

// code draws the code with its upper left corner at `at`, and under it what
// it holds; it returns the height below. The right margin and the white space
// around it are its quiet zone.
func (c *setter) code(p *Page, dark [][]bool, at vg.Point) (bottom vg.Length) {
	side := codeWidth / vg.Length(len(dark))
	for y, row := range dark {
		for x := 0; x < len(row); x++ {
			from := x
			for x < len(row) && row[x] {
				x++
			}
			if x > from { // a run of dark squares is one rectangle
				corner := vg.Point{X: at.X + vg.Length(from)*side, Y: at.Y - vg.Length(y)*side}
				p.fill(figure.Black, box(corner, vg.Length(x-from)*side, side))
			}
		}
	}
	face := lettering.Regular(sizeTiny)
	y := at.Y - codeWidth - codeQuiet*side - sizeTiny*lettering.CapHeight + 2
	p.textRight(face, figure.Soft, at.X+codeWidth, y, "run and result")
	return y - 2
}
