package fit

import (
	"errors"
	"fmt"
)

// ErrNoProgress: no better point was found although the residuals say that
// there is one, or the iterations ran out.
var ErrNoProgress = errors.New("fit: no progress")

// Outcome is how a nonlinear fit ended.
type Outcome int

// How a nonlinear fit ends.
const (
	Unfinished     Outcome = iota
	Converged              // the next step would be shorter than the tolerance
	AtRounding             // the next step would be within the rounding of the model's values
	IterationLimit         // points tried up to the limit
	Stuck                  // no step, however short, gives a better point
	StartNotFinite         // the model has no value, or no derivative, at the start
	Dependent              // the data do not tell the parameters apart
)

var outcomes = [...]struct {
	name  string
	early bool // ended before a minimum was found
	err   error
}{
	Unfinished:     {"unfinished", true, ErrNoProgress},
	Converged:      {"converged", false, nil},
	AtRounding:     {"at rounding", false, nil},
	IterationLimit: {"iteration limit", true, fmt.Errorf("%w: iteration limit", ErrNoProgress)},
	Stuck:          {"stuck", true, fmt.Errorf("%w: no step gives a better point", ErrNoProgress)},
	StartNotFinite: {"start not finite", true, fmt.Errorf("%w: model at the start", ErrNotFinite)},
	Dependent:      {"dependent", false, ErrRank},
}

// String returns the outcome's name.
func (o Outcome) String() string { return outcomes[o].name }

// Early says that the fit ended before a minimum was found.
func (o Outcome) Early() bool { return outcomes[o].early }

// Err returns what a fit that ended so is refused with, nil for a good end:
// it is ErrNoProgress, ErrNotFinite or ErrRank.
func (o Outcome) Err() error { return outcomes[o].err }
