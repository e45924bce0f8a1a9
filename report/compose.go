package report

import (
	"strings"

	"gonum.org/v1/plot/vg"
)

// composer lays out a unit's pages from facts.
type composer struct {
	setter
	f Facts
	// plotHeight is the height of the summary's figures.
	plotHeight vg.Length
	made       []hold // by holds
}

func newComposer(f Facts) *composer {
	return &composer{setter: newSetter(f.Paper, f.Display), f: f}
}

// Compose lays out the summary page of one unit, the operator's paper, and
// further pages where the content needs them; the figure gives way as far as
// that saves a page. f.Result must not be nil. It has no failure: what is
// unknown is shown as unknown.
func Compose(f Facts) []Page {
	c := newComposer(f)
	return c.number(c.summaryPages(), c.source())
}

// ComposeSet lays out every page of one unit: the summary, then the other
// kinds of the table of pages as far as there is something to show. f.Result
// must not be nil. It has no failure.
func ComposeSet(f Facts) []Page {
	c := newComposer(f)
	var all []*Page
	for _, kind := range pageKinds {
		all = append(all, kind.compose(c)...)
	}
	return c.number(all, c.source())
}

// source is what a foot says of the page's origin.
func (c *composer) source() string {
	r := c.f.Result
	left := program(r.Assessment.Program)
	if r.RunID != "" && !strings.Contains(c.f.ReportFile, r.RunID) {
		left += " · run " + r.RunID
	}
	if c.f.ReportFile != "" {
		left += " · " + c.f.ReportFile
	}
	return left
}
