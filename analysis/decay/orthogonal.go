package decay

// polynomials are orthogonal over a set of points: each has unit leading
// coefficient and zero product sum with all lower ones, so that a fit of one
// degree contains that of every lower degree and its coefficients are
// uncorrelated.
//
//	P_{k+1}(x) = (x − a_k)·P_k(x) − b_k·P_{k−1}(x)
//
// Source: [3] (mark M; the orthogonality is tested).
type polynomials struct {
	a, b []float64
	// norm is Σ P_k(x_i)².
	norm []float64
}

// orthogonal returns the polynomials up to the given degree over x, and their
// values there, values[k][i]. len(x) > degree, x not all equal.
func orthogonal(x []float64, degree int) (p polynomials, values [][]float64) {
	one := make([]float64, len(x))
	for i := range one {
		one[i] = 1
	}
	values = append(values, one)
	p.norm = append(p.norm, float64(len(x)))
	for k := range degree {
		var num float64
		for i, v := range values[k] {
			num += x[i] * v * v
		}
		a, b := num/p.norm[k], 0.0
		if k > 0 {
			b = p.norm[k] / p.norm[k-1]
		}
		next, norm := make([]float64, len(x)), 0.0
		for i := range next {
			next[i] = (x[i] - a) * values[k][i]
			if k > 0 {
				next[i] -= b * values[k-1][i]
			}
			norm += next[i] * next[i]
		}
		p.a, p.b = append(p.a, a), append(p.b, b)
		values, p.norm = append(values, next), append(p.norm, norm)
	}
	return p, values
}

// at fills value and slope with P_k(x) and dP_k/dx for k = 0 … len(value)−1.
func (p polynomials) at(x float64, value, slope []float64) {
	for k := range value {
		switch k {
		case 0:
			value[0], slope[0] = 1, 0
		case 1:
			value[1], slope[1] = x-p.a[0], 1
		default:
			value[k] = (x-p.a[k-1])*value[k-1] - p.b[k-1]*value[k-2]
			slope[k] = value[k-1] + (x-p.a[k-1])*slope[k-1] - p.b[k-1]*slope[k-2]
		}
	}
}
