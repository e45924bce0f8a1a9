package result

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
	"holdbench/daq/procedure"
	"holdbench/daq/record"
)

// certified is the bench's body with a certificate that was due then.
func certified(t *testing.T, due string) *Run {
	b := coupledBench(t, `tolerance_class = "2"`, "[channel.calibration]\ncertificate = \"C-1\"\ndate = 2020-01-01\ndue = "+due+"\nuncertainty = \"0.1 K\"")
	started := time.Date(2026, 6, 1, 8, 0, 0, 0, time.UTC)
	return &Run{Bench: b, Procedure: &procedure.Procedure{}, Position: bench.Position{Circuits: []bench.Circuit{circuitOf("trapped", "body")}}, overdue: b.Overdue(started),
		Recording: &record.Recording{Meta: record.Meta{Started: started, Overdue: &record.Overdue{Reason: "in the post", By: "Ada"}}}}
}

const newCertificate = `[[calibration]]
channel = "body"
certificate = "C-2"
date = 2020-01-01
due = `

// A certificate that comes later does not hide that the test was made with one
// that had lapsed, and is itself looked at.
func TestLaterCertificatesHideNoOverride(t *testing.T) {
	for due, want := range map[string][]string{
		"2027-01-01": nil,
		"2025-12-31": {"certificate C-2 of body was due on 2025-12-31, before the test"},
	} {
		run := certified(t, "2026-02-03")
		names, err := run.Bench.Recalibrate("new.toml", []byte(newCertificate+due+"\nuncertainty = \"0.1 K\"\n"))
		require.NoError(t, err)
		assert.Nil(t, lapsed(run), "nothing was applied")
		run.Calibration = &AppliedCalibration{Channels: []AppliedToChannel{{Channel: names[0], Certificate: "C-2", Was: "C-1"}}}
		assert.Equal(t, []string{"body (due 2026-02-03)"}, overdueOverride(run).Channels)
		assert.Equal(t, want, lapsed(run))
	}
}

// What takes no part at the position is nobody's reason.
func TestALapsedCertificateOfAnotherPositionIsNoReason(t *testing.T) {
	run := certified(t, "2026-02-03")
	run.Calibration = &AppliedCalibration{Channels: []AppliedToChannel{{Channel: "body", Certificate: "C-1"}}}
	assert.Len(t, lapsed(run), 1)
	run.Position.Circuits[0].Temperature = "terminals"
	assert.Empty(t, lapsed(run))
}
