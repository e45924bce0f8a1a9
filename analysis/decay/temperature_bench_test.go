package decay

import (
	"math"
	"math/rand/v2"
	"testing"
)

// benchFit times the fit of one scene.
func benchFit(b *testing.B, duration, interval, lag, u float64) {
	random := rand.New(rand.NewPCG(1, 2718))
	s := usual(random, duration, interval)
	s.bench = heating(0.6, 1200, 0.3)
	s = s.lagging(random, lag, u)
	in := s.input(random)
	b.ResetTimer()
	for b.Loop() {
		r := Fit(in, Options{})
		if math.IsNaN(r.Estimates["decay_rate"].Value) {
			b.Fatal("no rate")
		}
	}
}

// 5 min at 10 Hz, the liquid follows a heating.
func BenchmarkFitFiveMinutes(b *testing.B) { benchFit(b, 300, 0.1, 60, 10) }

// 24 h at 10 Hz over 72 cycles of a heating: readings, and the 4096 means alone.
func BenchmarkFitDay(b *testing.B)        { benchFit(b, 86400, 0.1, 60, 10) }
func BenchmarkFitDayInMeans(b *testing.B) { benchFit(b, 86400, 86400.0/4096, 60, 10) }
