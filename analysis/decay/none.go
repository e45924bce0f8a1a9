package decay

// none is no leak at all: temperature and what is known of settling explain
// the hold,
//
//	p(t) = c0
//
// It is the line without its slope, told of and never taken.
var none = model{
	name: None, title: "level without a loss", size: 1, nested: true,
	fit: func(t, p []float64, _ frame) (c vector, unit matrix, err error) {
		c[0], unit[0][0] = meanFrom(p), 1/float64(len(t))
		return c, unit, nil
	},
	over: func(c vector, _ frame, t []float64) (p []float64, by [][]float64) {
		by = table(1, len(t))
		p = make([]float64, len(t))
		for i := range t {
			p[i], by[0][i] = c[0], 1
		}
		return p, by
	},
	at: func(c vector, _ frame, _ float64) function {
		return function{value: c[0], by: vector{1}}
	},
	lost:     func(vector, frame, float64) function { return function{} },
	rateAt:   func(vector, frame, float64) function { return function{} },
	relative: func(vector, frame) function { return function{} },
}
