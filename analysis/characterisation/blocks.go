package characterisation

import (
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/series"
)

// fewestReadings is how many valid pressure readings a window must have.
const fewestReadings = 30

// pressures returns the valid readings in a window, single spikes set aside;
// why is empty where there are enough.
func (r Record) pressures(from, to float64) (c series.Column, why string) {
	if !(to > from) {
		return c, "the run has no window: no hold began, and none was given"
	}
	c, _, _ = decay.WithoutSpikes(r.Pressure.Window(from, to))
	if c.Len() < fewestReadings {
		return c, "fewer than 30 valid pressure readings in the window"
	}
	return c, ""
}

// means averages times and values of readings over at most that many blocks of
// as many readings each, the last one shorter where they do not come out even.
func means(c series.Column, most int) (t, v []float64) {
	n := c.Len()
	size := (n + most - 1) / most
	for i := 0; i < n; i += size {
		end := min(i+size, n)
		var sumT, sumV float64
		for j := i; j < end; j++ {
			sumT += c.Time[j] - c.Time[i]
			sumV += c.Value[j] - c.Value[i]
		}
		k := float64(end - i)
		t, v = append(t, c.Time[i]+sumT/k), append(v, c.Value[i]+sumV/k)
	}
	return t, v
}

func mean(v []float64) float64 {
	var sum float64
	for _, x := range v {
		sum += x - v[0]
	}
	return v[0] + sum/float64(len(v))
}

// rootMeanSquare is √(Σv²/dof); NaN without degrees of freedom.
func rootMeanSquare(v []float64, dof float64) float64 {
	var sum float64
	for _, x := range v {
		sum += x * x
	}
	if !(dof > 0) {
		return math.NaN()
	}
	return math.Sqrt(sum / dof)
}

// interval is the mean time between readings, s; 0 for fewer than two.
func interval(t []float64) float64 {
	if len(t) < 2 {
		return 0
	}
	return (t[len(t)-1] - t[0]) / float64(len(t)-1)
}
