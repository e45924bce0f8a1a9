package report

import "slices"

// summaryPages is the page that the operator gets: verdict, figure, limits,
// reasons, the rest in short. Of the heights that its figures may have it
// takes the largest that costs no page.
func (c *composer) summaryPages() (best []*Page) {
	for _, height := range plotHeights {
		c.plotHeight = height
		if pages := c.summary(); best == nil || len(pages) < len(best) {
			best = pages
		}
		if len(best) == 1 {
			break
		}
	}
	best[0].bookmark("Summary", 0)
	return best
}

func (c *composer) summary() []*Page {
	flow := newFlow(c.sheet, c.begin)
	bands := []band{
		single(c.verdictBox(), between),
		single(c.pressurised(), 2*mm),
		c.plots(),
		single(c.holdFound(), 1*mm),
		single(c.limits(), between),
		c.reasons(),
	}
	bands = append(bands, c.figures()...)
	bands = append(bands,
		single(c.absent(), 2*mm),
		single(c.notes(), between),
		single(c.instruments(), between),
		c.safety(),
		single(c.origins(), 2*mm),
	)
	for _, b := range bands {
		flow.add(b)
	}
	return flow.pages
}

// notes are what was found and assumed on reading another logger's file.
func (c *composer) notes() block {
	notes := append([]string(nil), c.f.Result.Notes...)
	for _, circuit := range c.f.Result.Circuits {
		for _, t := range circuit.Tests {
			if t.Found != nil {
				notes = append(notes, t.Found.Notes...)
			}
		}
	}
	var each []string
	for _, n := range notes {
		if n != "" && !slices.Contains(each, n) {
			each = append(each, n)
		}
	}
	if len(each) == 0 {
		return block{}
	}
	return c.list("Notes on the file", each, c.textWidth)
}
