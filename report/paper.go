package report

import (
	"fmt"
	"strings"

	"gonum.org/v1/plot/vg"
)

const mm = vg.Millimeter

// Paper is a size of paper, upright. The zero Paper means A4.
type Paper struct {
	Name          string
	Width, Height vg.Length
}

// The papers: A4 of ISO 216, 210 mm × 297 mm, and the letter sheet of North
// America, 8½ in × 11 in.
var (
	A4     = Paper{"A4", 210 * mm, 297 * mm}
	Letter = Paper{"Letter", 8.5 * vg.Inch, 11 * vg.Inch}
)

// Papers is the one table of papers.
var Papers = []Paper{A4, Letter}

// ParsePaper returns the paper of that name, in capitals or not; an empty name
// means A4. The error names the papers that there are.
func ParsePaper(name string) (Paper, error) {
	if name == "" {
		return A4, nil
	}
	names := make([]string, len(Papers))
	for i, p := range Papers {
		if strings.EqualFold(p.Name, name) {
			return p, nil
		}
		names[i] = p.Name
	}
	return Paper{}, fmt.Errorf("paper: found %q, want %s", name, strings.Join(names, " or "))
}

// The margins of every paper.
const (
	marginSide   = 20 * mm
	marginTop    = 12 * mm
	marginBottom = 14 * mm // the foot of the page stands in it

	gutter = 8 * mm // between two columns
)

// sheet is a paper with what its margins leave.
type sheet struct {
	paper Paper
	// textWidth is the width between the margins, halfWidth that of one of
	// two columns.
	textWidth, halfWidth vg.Length
}

func sheetOf(p Paper) sheet {
	if p.Width <= 0 || p.Height <= 0 {
		p = A4
	}
	width := p.Width - 2*marginSide
	return sheet{paper: p, textWidth: width, halfWidth: (width - gutter) / 2}
}

// right is where the right margin begins.
func (s sheet) right() vg.Length { return marginSide + s.textWidth }

// pair is two blocks side by side.
func (s sheet) pair(left, right block, above vg.Length) band {
	return band{blocks: []block{left, right}, lefts: []vg.Length{0, s.halfWidth + gutter}, above: above}
}
