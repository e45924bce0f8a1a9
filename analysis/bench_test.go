package analysis

import (
	"testing"

	"holdbench/analysis/verdict"
)

func BenchmarkAssess5min10Hz(b *testing.B) {
	m := noisyThermometer(1)
	m.tempInterval = 0.2
	m.limits = []verdict.Limit{{Quantity: "decay_rate", Value: 0.2 * barPerMin}}
	h := m.hold()
	b.ResetTimer()
	for b.Loop() {
		Assess(h)
	}
}
