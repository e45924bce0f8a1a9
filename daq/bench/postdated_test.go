package bench_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"holdbench/daq/bench"
)

func TestCertificateOfADayThatIsStillToCome(t *testing.T) {
	day := time.Date(2027, 1, 5, 0, 0, 0, 0, time.UTC)
	b := &bench.Bench{Channels: []bench.Channel{{Name: "supply"}, {Name: "trapped", Calibration: &bench.Calibration{Date: day}}}}
	for at, want := range map[time.Time]int{
		day.AddDate(-1, 0, 0):    1,
		day.Add(-15 * time.Hour): 1,
		day.Add(-14 * time.Hour): 0, // where clocks are furthest ahead it is that day
		day:                      0,
		day.AddDate(1, 0, 0):     0,
	} {
		assert.Len(t, b.Postdated(at), want, at)
	}
}
