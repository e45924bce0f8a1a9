package daq

import (
	"cmp"
	"context"
	"slices"
	"time"
)

// parting is how long, on the wall clock, bringing one instrument's outputs to
// their safe state may take at a time when scanning is over.
const parting = 5 * time.Second

// part brings the line's outputs to their safe state for the last time: first
// those of instruments that answer, so that one that does not holds up none of
// them; then what was not confirmed once more. A line that is gone is opened
// anew.
func (r *reader) part(ctx context.Context) {
	if !r.outputs {
		return
	}
	defer r.clock.Join()()
	r.refuse(true)
	left := r.pumps()
	for try := 1; try <= 2; try++ {
		for i, outputs := range left {
			left[i].which = r.off(context.WithoutCancel(ctx), outputs, try == 2)
		}
	}
}

// ofSource are some outputs of a source, by their numbers.
type ofSource struct {
	source int
	which  []int
}

// pumps are all of the line's, those of instruments that answer first.
func (r *reader) pumps() (out []ofSource) {
	for i, src := range r.line.Sources {
		p := ofSource{source: i}
		for k, output := range src.Outputs {
			if src.Driver != nil && output.Role == Pump {
				p.which = append(p.which, k)
			}
		}
		out = append(out, p)
	}
	slices.SortStableFunc(out, func(a, b ofSource) int { return cmp.Compare(r.each[a.source].failures, r.each[b.source].failures) })
	return out
}

// off switches pumps off because scanning ends, and returns those that did not
// confirm it; that is told the last time.
func (r *reader) off(ctx context.Context, pumps ofSource, last bool) (left []int) {
	ctx, stop := context.WithTimeout(ctx, parting)
	defer stop()
	src, o := r.line.Sources[pumps.source], &r.each[pumps.source].outputs
	for _, k := range pumps.which {
		off := func() error { return guardedErr(func() error { return src.Driver.Drive(ctx, k, false) }) }
		err := off()
		if err != nil && r.gone(err) && r.line.Reopen != nil && r.line.Reopen(ctx) == nil {
			err = off()
		}
		o.on[k] = err != nil
		if err != nil {
			left = append(left, k)
		}
		if err == nil || last {
			r.driven(Driving{Output: src.Outputs[k], Cause: "scanning ends", Safe: true, Err: err})
		}
	}
	return left
}
