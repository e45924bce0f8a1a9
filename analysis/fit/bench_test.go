package fit

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// decay is y = c0 + c1·exp(−t/e^a) in the parameters c0, c1, a.
func decay(t []float64) SeparableModel {
	return SeparableModel{
		Linear: 2, Nonlinear: 1,
		Basis: func(dst [][]float64, a []float64) {
			rate := math.Exp(-a[0])
			for i, at := range t {
				dst[0][i], dst[1][i] = 1, math.Exp(-at*rate)
			}
		},
		Slopes: func(dst, basis [][]float64, a, c []float64) {
			rate := c[1] * math.Exp(-a[0])
			for i, at := range t {
				dst[0][i] = rate * at * basis[1][i]
			}
		},
	}
}

// noisyDecay is a decay from 101 to 100 within half the n seconds, with noise
// of 0.01.
func noisyDecay(n int) (t, y []float64) {
	random := rand.New(rand.NewPCG(5, 6))
	t, y = make([]float64, n), make([]float64, n)
	for i := range n {
		t[i] = float64(i)
		y[i] = 100 + math.Exp(-2*t[i]/float64(n)) + 0.01*random.NormFloat64()
	}
	return t, y
}

// BenchmarkFit fits from a start some 70 standard uncertainties off. best-ms is
// the shortest fit, which a busy machine lengthens least.
func BenchmarkFit(b *testing.B) {
	for _, n := range []int{3000, 9000} {
		t, y := noisyDecay(n)
		m := decay(t)
		whole := m.Model(n)
		from := math.Log(float64(n) / 5)
		numeric := Model{Values: whole.Values}
		for _, row := range []struct {
			name string
			run  func(o Options) (Solution, error)
		}{
			{"nonlinear", func(o Options) (Solution, error) { return Nonlinear(whole, y, []float64{99, 2, from}, o) }},
			{"nonlinear-differences", func(o Options) (Solution, error) { return Nonlinear(numeric, y, []float64{99, 2, from}, o) }},
			{"separable", func(o Options) (Solution, error) { return Separable(m, y, []float64{from}, o) }},
			{"separable-prior", func(o Options) (Solution, error) {
				o.Priors = []Prior{{Parameter: 1, Value: 1, StdUncertainty: 0.01}}
				return Separable(m, y, []float64{from}, o)
			}},
		} {
			b.Run(fmt.Sprintf("%s/%d", row.name, n), func(b *testing.B) {
				b.ReportAllocs()
				o := Options{Workspace: new(Workspace)}
				tries, best := 0, time.Hour
				for b.Loop() {
					began := time.Now()
					s, err := row.run(o)
					best = min(best, time.Since(began))
					require.NoError(b, err)
					tries = s.Tries
				}
				b.ReportMetric(float64(tries), "tries")
				b.ReportMetric(best.Seconds()*1e3, "best-ms")
			})
		}
	}
}
