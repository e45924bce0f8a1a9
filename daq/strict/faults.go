package strict

import (
	"errors"
	"slices"
)

// Faults collects the faults of one file. The zero value is ready for use.
type Faults struct {
	all []*Error
}

// Add takes one fault more.
func (f *Faults) Add(e *Error) { f.all = append(f.all, e) }

// Len is the number of faults so far.
func (f *Faults) Len() int { return len(f.all) }

// Err returns all faults, each an *Error, joined in the order of their lines
// (errors.Join); nil when there are none.
func (f *Faults) Err() error {
	sorted := slices.Clone(f.all)
	slices.SortStableFunc(sorted, func(a, b *Error) int { return a.Line - b.Line })
	joined := make([]error, len(sorted))
	for i, e := range sorted {
		joined[i] = e
	}
	return errors.Join(joined...)
}
