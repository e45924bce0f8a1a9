package main

import (
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
)

// No test is made with a certificate of a day that is still to come, whoever
// says why.
func TestCertificateOfTheFutureIsRefused(t *testing.T) {
	at := time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)
	c := &bench.Calibration{Certificate: "C-1", Date: time.Date(2027, 1, 5, 0, 0, 0, 0, time.UTC), Due: time.Date(2028, 1, 5, 0, 0, 0, 0, time.UTC)}
	b := &bench.Bench{Path: "bench.toml", Channels: []bench.Channel{{Name: "trapped", Line: 26, Calibration: c}}}
	const want = `bench.toml:26: channel "trapped": calibration: date: found 2027-01-05, which is still to come, want the day of the calibration, as its certificate says; or this computer's clock is wrong: today is 2026-06-01`
	require.EqualError(t, refusePostdated(b, at), want)
	for _, args := range [][]string{nil, {"--override-overdue", "in the post"}} {
		var f overdueFlags
		cmd := &cobra.Command{}
		f.add(cmd)
		require.NoError(t, cmd.ParseFlags(args))
		_, err := f.overridden(cmd, b, bench.Position{Name: "1"}, "Ada", at)
		assert.EqualError(t, err, want)
	}
	found := besides(b, at)
	require.Len(t, found, 1)
	assert.Contains(t, found[0].What, "calibration is dated 2027-01-05, which is still to come; no test is made with it")
	assert.NoError(t, refusePostdated(b, at.AddDate(1, 0, 0)))
}
