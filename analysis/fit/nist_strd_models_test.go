package fit

import (
	"math"
	"slices"
)

// strdModel is the model of a NIST StRD nonlinear set, as printed there, with
// its derivatives by b1, b2, …
type strdModel struct {
	// at returns the model at one observation and writes its derivatives.
	at func(x, b, d []float64) float64
	// linear are the parameters (from 0) that it is linear in.
	linear []int
	// alike are groups of parameters that can change places without changing
	// the model; a solution is compared with the groups in the order of their
	// second parameter, which is how the certified values stand.
	alike [][]int
	// mirror are parameters whose signs can change together; the first is
	// certified positive.
	mirror []int
}

var strdModels = map[string]strdModel{
	"Bennett5": {linear: []int{0}, at: func(x, b, d []float64) float64 {
		base := b[1] + x[0]
		power := math.Pow(base, -1/b[2])
		d[0] = power
		d[1] = -b[0] * power / (b[2] * base)
		d[2] = b[0] * power * math.Log(base) / (b[2] * b[2])
		return b[0] * power
	}},
	"BoxBOD":   {linear: []int{0}, at: rise},
	"Chwirut1": {at: decayOverLine},
	"Chwirut2": {at: decayOverLine},
	"DanWood": {linear: []int{0}, at: func(x, b, d []float64) float64 {
		d[0] = math.Pow(x[0], b[1])
		d[1] = b[0] * d[0] * math.Log(x[0])
		return b[0] * d[0]
	}},
	"ENSO": {linear: []int{0, 1, 2, 4, 5, 7, 8}, at: func(x, b, d []float64) float64 {
		wave := func(period float64) (cos, sin, turn float64) {
			turn = 2 * math.Pi * x[0] / period
			return math.Cos(turn), math.Sin(turn), turn
		}
		c1, s1, _ := wave(12)
		c2, s2, t2 := wave(b[3])
		c3, s3, t3 := wave(b[6])
		d[0], d[1], d[2] = 1, c1, s1
		d[3], d[4], d[5] = (b[4]*s2-b[5]*c2)*t2/b[3], c2, s2
		d[6], d[7], d[8] = (b[7]*s3-b[8]*c3)*t3/b[6], c3, s3
		return b[0] + b[1]*c1 + b[2]*s1 + b[4]*c2 + b[5]*s2 + b[7]*c3 + b[8]*s3
	}},
	"Eckerle4": {linear: []int{0}, mirror: []int{0, 1}, at: func(x, b, d []float64) float64 {
		z := (x[0] - b[2]) / b[1]
		bell := math.Exp(-0.5 * z * z)
		y := b[0] / b[1] * bell
		d[0] = bell / b[1]
		d[1] = y * (z*z - 1) / b[1]
		d[2] = y * z / b[1]
		return y
	}},
	"Gauss1":   {linear: []int{0, 2, 5}, at: decayAndBells},
	"Gauss2":   {linear: []int{0, 2, 5}, at: decayAndBells},
	"Gauss3":   {linear: []int{0, 2, 5}, at: decayAndBells},
	"Hahn1":    {linear: []int{0, 1, 2, 3}, at: rational(4)},
	"Kirby2":   {linear: []int{0, 1, 2}, at: rational(3)},
	"Lanczos1": {linear: []int{0, 2, 4}, alike: [][]int{{0, 1}, {2, 3}, {4, 5}}, at: threeDecays},
	"Lanczos2": {linear: []int{0, 2, 4}, alike: [][]int{{0, 1}, {2, 3}, {4, 5}}, at: threeDecays},
	"Lanczos3": {linear: []int{0, 2, 4}, alike: [][]int{{0, 1}, {2, 3}, {4, 5}}, at: threeDecays},
	"MGH09": {linear: []int{0}, at: func(x, b, d []float64) float64 {
		top, bottom := x[0]*x[0]+x[0]*b[1], x[0]*x[0]+x[0]*b[2]+b[3]
		y := b[0] * top / bottom
		d[0] = top / bottom
		d[1] = b[0] * x[0] / bottom
		d[2] = -y * x[0] / bottom
		d[3] = -y / bottom
		return y
	}},
	"MGH10": {linear: []int{0}, at: func(x, b, d []float64) float64 {
		base := x[0] + b[2]
		d[0] = math.Exp(b[1] / base)
		d[1] = b[0] * d[0] / base
		d[2] = -b[0] * d[0] * b[1] / (base * base)
		return b[0] * d[0]
	}},
	"MGH17": {linear: []int{0, 1, 2}, alike: [][]int{{1, 3}, {2, 4}}, at: func(x, b, d []float64) float64 {
		e1, e2 := math.Exp(-x[0]*b[3]), math.Exp(-x[0]*b[4])
		d[0], d[1], d[2] = 1, e1, e2
		d[3], d[4] = -x[0]*b[1]*e1, -x[0]*b[2]*e2
		return b[0] + b[1]*e1 + b[2]*e2
	}},
	"Misra1a": {linear: []int{0}, at: rise},
	"Misra1b": {linear: []int{0}, at: func(x, b, d []float64) float64 {
		base := 1 + b[1]*x[0]/2
		d[0] = 1 - 1/(base*base)
		d[1] = b[0] * x[0] / (base * base * base)
		return b[0] * d[0]
	}},
	"Misra1c": {linear: []int{0}, at: func(x, b, d []float64) float64 {
		base := 1 + 2*b[1]*x[0]
		d[0] = 1 - 1/math.Sqrt(base)
		d[1] = b[0] * x[0] / (base * math.Sqrt(base))
		return b[0] * d[0]
	}},
	"Misra1d": {linear: []int{0}, at: func(x, b, d []float64) float64 {
		base := 1 + b[1]*x[0]
		d[0] = b[1] * x[0] / base
		d[1] = b[0] * x[0] / (base * base)
		return b[0] * d[0]
	}},
	// The response is the natural logarithm of y.
	"Nelson": {linear: []int{0, 1}, at: func(x, b, d []float64) float64 {
		e := math.Exp(-b[2] * x[1])
		d[0], d[1] = 1, -x[0]*e
		d[2] = b[1] * x[0] * x[1] * e
		return b[0] - b[1]*x[0]*e
	}},
	"Rat42": {linear: []int{0}, at: func(x, b, d []float64) float64 {
		e := math.Exp(b[1] - b[2]*x[0])
		d[0] = 1 / (1 + e)
		d[1] = -b[0] * e * d[0] * d[0]
		d[2] = -x[0] * d[1]
		return b[0] * d[0]
	}},
	"Rat43": {linear: []int{0}, at: func(x, b, d []float64) float64 {
		e := math.Exp(b[1] - b[2]*x[0])
		d[0] = math.Pow(1+e, -1/b[3])
		d[1] = -b[0] * d[0] / b[3] * e / (1 + e)
		d[2] = -x[0] * d[1]
		d[3] = b[0] * d[0] * math.Log1p(e) / (b[3] * b[3])
		return b[0] * d[0]
	}},
	"Roszman1": {linear: []int{0, 1}, at: func(x, b, d []float64) float64 {
		away := x[0] - b[3]
		square := math.Pi * (away*away + b[2]*b[2])
		d[0], d[1] = 1, -x[0]
		d[2], d[3] = -away/square, -b[2]/square
		return b[0] - b[1]*x[0] - math.Atan(b[2]/away)/math.Pi
	}},
	"Thurber": {linear: []int{0, 1, 2, 3}, at: rational(4)},
}

func rise(x, b, d []float64) float64 {
	e := math.Exp(-b[1] * x[0])
	d[0] = 1 - e
	d[1] = b[0] * x[0] * e
	return b[0] * (1 - e)
}

func decayOverLine(x, b, d []float64) float64 {
	line := b[1] + b[2]*x[0]
	y := math.Exp(-b[0]*x[0]) / line
	d[0] = -x[0] * y
	d[1] = -y / line
	d[2] = -x[0] * y / line
	return y
}

func decayAndBells(x, b, d []float64) float64 {
	e := math.Exp(-b[1] * x[0])
	z1, z2 := (x[0]-b[3])/b[4], (x[0]-b[6])/b[7]
	bell1, bell2 := math.Exp(-z1*z1), math.Exp(-z2*z2)
	d[0], d[1] = e, -x[0]*b[0]*e
	d[2], d[3], d[4] = bell1, b[2]*bell1*2*z1/b[4], b[2]*bell1*2*z1*z1/b[4]
	d[5], d[6], d[7] = bell2, b[5]*bell2*2*z2/b[7], b[5]*bell2*2*z2*z2/b[7]
	return b[0]*e + b[2]*bell1 + b[5]*bell2
}

func threeDecays(x, b, d []float64) float64 {
	y := 0.0
	for k := 0; k < 6; k += 2 {
		e := math.Exp(-b[k+1] * x[0])
		d[k], d[k+1] = e, -x[0]*b[k]*e
		y += b[k] * e
	}
	return y
}

// rational is a polynomial with that many terms over one that begins with 1
// and has as many.
func rational(terms int) func(x, b, d []float64) float64 {
	return func(x, b, d []float64) float64 {
		top, bottom, power := 0.0, 1.0, 1.0
		for k := range terms {
			top += b[k] * power
			d[k] = power
			if k+1 < terms {
				power *= x[0]
				bottom += b[terms+k] * power
				d[terms+k] = power
			}
		}
		y := top / bottom
		for k := range d {
			d[k] /= bottom
			if k >= terms {
				d[k] *= -y
			}
		}
		return y
	}
}

// whole is the model of all parameters b1, b2, … for the x of each
// observation.
func (m strdModel) whole(x [][]float64, parameters int) Model {
	d := make([]float64, parameters)
	return Model{
		Values: func(dst, b []float64) {
			for i := range dst {
				dst[i] = m.at(x[i], b, d)
			}
		},
		Jacobian: func(dst [][]float64, b []float64) {
			for i := range x {
				m.at(x[i], b, d)
				for j := range d {
					dst[j][i] = d[j]
				}
			}
		},
	}
}

// order returns the parameters as Separable orders them: linear ones first.
func (m strdModel) order(parameters int) []int {
	order := append([]int(nil), m.linear...)
	for j := range parameters {
		if !slices.Contains(m.linear, j) {
			order = append(order, j)
		}
	}
	return order
}

// certified brings a solution, b1, b2, … with standard uncertainties, into
// the form in which it is certified, among those that are the same curve.
func (m strdModel) certified(b, u []float64) {
	if len(m.mirror) > 0 && b[m.mirror[0]] < 0 {
		for _, j := range m.mirror {
			b[j] = -b[j]
		}
	}
	for range m.alike {
		for k := 1; k < len(m.alike); k++ {
			one, two := m.alike[k-1], m.alike[k]
			if b[one[1]] <= b[two[1]] {
				continue
			}
			for i := range one {
				b[one[i]], b[two[i]] = b[two[i]], b[one[i]]
				u[one[i]], u[two[i]] = u[two[i]], u[one[i]]
			}
		}
	}
}

// separated is the model with its linear parameters apart: their derivatives
// are the basis, the model without them is the offset.
func (m strdModel) separated(x [][]float64, parameters int) SeparableModel {
	order, linear := m.order(parameters), len(m.linear)
	b, d := make([]float64, parameters), make([]float64, parameters)
	set := func(a, c []float64) {
		for k, j := range order {
			switch {
			case k >= linear:
				b[j] = a[k-linear]
			case c != nil:
				b[j] = c[k]
			default:
				b[j] = 0
			}
		}
	}
	fill := func(dst [][]float64, from []int) {
		for i := range x {
			m.at(x[i], b, d)
			for k, j := range from {
				dst[k][i] = d[j]
			}
		}
	}
	return SeparableModel{
		Linear: linear, Nonlinear: parameters - linear,
		Basis: func(dst [][]float64, a []float64) {
			set(a, nil)
			fill(dst, order[:linear])
		},
		Offset: func(dst, a []float64) {
			set(a, nil)
			for i := range dst {
				dst[i] = m.at(x[i], b, d)
			}
		},
		Slopes: func(dst, _ [][]float64, a, c []float64) {
			set(a, c)
			fill(dst, order[linear:])
		},
	}
}
