package report

import "slices"

// summaryPages is the page that the operator gets: verdict, figure, limits,
// reasons, the rest in short. Of the heights that its figures may have it
// takes the largest that costs no page. Where one page does not hold it all,
// the vent state, the cautions and the signature stay on the first, and the
// figures that decide nothing give way.
func (c *composer) summaryPages() []*Page {
	best, _ := c.fitted(c.ordinary)
	if len(best) > 1 {
		if safe, on := c.fitted(c.safetyFirst); on {
			best = safe
		} else {
			best, _ = c.fitted(c.stateFirst)
		}
	}
	best[0].bookmark("Summary", 0)
	return best
}

// fitted lays out a summary at each height of its figures until it is one
// page, and returns that of fewest pages; of those, one that has its safety
// on the first page, as first says.
func (c *composer) fitted(order func() []band) (best []*Page, first bool) {
	for _, height := range plotHeights {
		c.plotHeight = height
		pages, on := c.laid(order())
		if best == nil || on && !first || on == first && len(pages) < len(best) {
			best, first = pages, on
		}
		if len(best) == 1 {
			break
		}
	}
	return best, first
}

// laid puts bands onto pages; first tells whether the band of the signature
// ended on the first page.
func (c *composer) laid(bands []band) (pages []*Page, first bool) {
	flow := newFlow(c.sheet, c.begin)
	for _, b := range bands {
		flow.add(b)
		first = first || b.signed && len(flow.pages) == 1
	}
	return flow.pages, first
}

// ordinary is the order of a summary that is one page.
func (c *composer) ordinary() []band {
	return slices.Concat(c.judged(c.pressurised()), c.inShort(), []band{c.safety(true)}, c.ending())
}

// safetyFirst has the safety before the figures that decide nothing.
func (c *composer) safetyFirst() []band {
	return slices.Concat(c.judged(c.pressurised()), []band{c.safety(true)}, c.inShort(), c.ending())
}

// stateFirst has the vent state right under the verdict, for summaries whose
// reasons alone fill a page.
func (c *composer) stateFirst() []band {
	return slices.Concat(c.judged(c.ventState()), c.inShort(), []band{c.safety(false)}, c.ending())
}

// judged is the verdict with what it rests on.
func (c *composer) judged(state block) []band {
	return []band{
		single(c.verdictBox(), between),
		single(state, 2*mm),
		c.plots(),
		single(c.holdFound(), 1*mm),
		single(c.limits(), between),
		c.reasons(),
	}
}

// inShort is what other pages show in full.
func (c *composer) inShort() []band {
	return append(c.figures(),
		single(c.absent(), 2*mm),
		single(c.notes(), between),
		single(c.instruments(), between),
	)
}

func (c *composer) ending() []band { return []band{single(c.origins(), 2*mm)} }

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
