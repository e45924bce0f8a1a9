package fit

// Model is a curve that is not linear in its parameters: what it gives for
// each observation, at any parameters. Parameters may be of any size and
// unit; a fit does not depend on how they are scaled.
type Model struct {
	// Values writes the model's value for observation i to dst[i].
	// len(dst) is the number of observations. A NaN or an infinity says that
	// the model has no value there; a fit then takes a shorter step.
	Values func(dst, parameters []float64)
	// Jacobian writes the derivative of value i by parameter j to dst[j][i].
	// Without it the derivatives are taken as central differences. A fit asks
	// for it right after Values at the same parameters, so that a model may
	// keep what both need.
	Jacobian func(dst [][]float64, parameters []float64)
}

// SeparableModel is a curve that is linear in some of its parameters:
//
//	f(c, a) = Φ(a)·c + g(a)
//
// Of the parameters of a solution the linear ones c come first, then the
// nonlinear ones a.
type SeparableModel struct {
	// Linear and Nonlinear are how many parameters there are of each kind.
	Linear, Nonlinear int
	// Basis writes what coefficient k is multiplied by in observation i to
	// dst[k][i].
	Basis func(dst [][]float64, a []float64)
	// Offset writes the part without a coefficient, g(a). Without it g is 0.
	Offset func(dst, a []float64)
	// Slopes writes the derivative of value i by nonlinear parameter j, the
	// coefficients held, to dst[j][i]; basis is Φ(a) and must not be changed.
	// Without it the derivatives are taken as central differences.
	Slopes func(dst, basis [][]float64, a, c []float64)
}

// Prior is what was known of a parameter before the fit, in that parameter's
// unit: it counts as one more observation of it.
type Prior struct {
	Parameter             int
	Value, StdUncertainty float64
}

// Options of a nonlinear fit; the zero value is a plain least-squares fit.
type Options struct {
	// Sigma is the known standard deviation of the noise of one observation,
	// in its unit; 0 takes it from the residuals.
	Sigma float64
	// Priors on parameters, at most one each.
	Priors []Prior
	// Tolerance of the relative offset: the fit ends when after the next step,
	// which is still taken, the parameters are expected to lie within this of
	// the minimum, in standard uncertainties. 0 is 1e-10.
	Tolerance float64
	// MaxIterations is how many points are tried at most. 0 is 1000.
	MaxIterations int
	// Workspace keeps memory from one fit to the next; nil takes new memory.
	Workspace *Workspace
}

const (
	defaultTolerance  = 1e-10
	defaultIterations = 1000
)

func (o Options) tolerance() float64 {
	if o.Tolerance > 0 {
		return o.Tolerance
	}
	return defaultTolerance
}

func (o Options) iterations() int {
	if o.MaxIterations > 0 {
		return o.MaxIterations
	}
	return defaultIterations
}

// workspace returns the memory to use, with room for that many numbers.
func (o Options) workspace(numbers int) *Workspace {
	w := o.Workspace
	if w == nil {
		w = new(Workspace)
	}
	w.grow(numbers)
	return w
}

// check returns ErrNotFinite for priors or noise that say nothing; it panics
// for a prior on a parameter that there is not, or a second one on the same.
func (o Options) check(parameters int) error {
	if !finite(o.Sigma) || o.Sigma < 0 {
		return ErrNotFinite
	}
	seen := make([]bool, parameters)
	for _, p := range o.Priors {
		if p.Parameter < 0 || p.Parameter >= parameters || seen[p.Parameter] {
			panic("fit: a prior needs a parameter of its own")
		}
		seen[p.Parameter] = true
		if !finite(p.Value) || !finite(p.StdUncertainty) || !(p.StdUncertainty > 0) {
			return ErrNotFinite
		}
	}
	return nil
}

// Workspace is memory that fits share one after the other; its zero value is
// ready. Two fits must not use one at the same time, and the Residuals of a
// solution lie in it until the next fit.
type Workspace struct {
	numbers []float64
	used    int
}

// grow makes room for that many numbers and takes back all that were lent.
func (w *Workspace) grow(numbers int) {
	if cap(w.numbers) < numbers {
		w.numbers = make([]float64, numbers)
	}
	w.numbers = w.numbers[:cap(w.numbers)]
	w.used = 0
}

func (w *Workspace) vector(n int) []float64 {
	v := w.numbers[w.used : w.used+n : w.used+n]
	w.used += n
	return v
}

// columns lends that many vectors of n numbers.
func (w *Workspace) columns(count, n int) [][]float64 {
	return split(w.vector(count*n), count, n, n)
}

func newColumns(count, n int) [][]float64 {
	return split(make([]float64, count*n), count, n, n)
}

// split cuts the first length numbers of each of count vectors out of block,
// where they lie stride apart.
func split(block []float64, count, length, stride int) [][]float64 {
	columns := make([][]float64, count)
	for j := range columns {
		columns[j] = block[j*stride : j*stride+length : j*stride+length]
	}
	return columns
}
