package result

import (
	"fmt"
	"math"
	"slices"

	"holdbench/analysis/si"
)

// CorrectionOfTheEnd is what a reason says that tells of readings beyond a
// calibration.
const CorrectionOfTheEnd = "the correction of the nearer end was used"

// beyondCalibration says which trapped transducers read, within their hold,
// what their calibration does not reach.
func beyondCalibration(run *Run) (reasons []string) {
	for _, c := range run.Position.Circuits {
		w, held := run.Windows[c.Name]
		ch, _, ok := run.Bench.Channel(c.Trapped)
		if !held || !ok || !slices.Contains(run.Procedure.Circuits, c.Name) {
			continue
		}
		low, high, ok := ch.Calibration.Span()
		if !ok {
			continue
		}
		if ch.Absolute {
			low, high = low-run.Bench.Ambient.Pressure.Value, high-run.Bench.Ambient.Pressure.Value
		}
		end := w.HoldEnd
		if math.IsNaN(end) {
			end = run.Recording.End()
		}
		col, _ := run.column(c.Trapped)
		col = col.Valid().Window(w.HoldStart, end)
		if col.Len() == 0 {
			continue
		}
		lowest, highest := slices.Min(col.Value), slices.Max(col.Value)
		if lowest >= low && highest <= high {
			continue
		}
		unit := si.DefaultDisplay.Unit(si.Pressure)
		text := func(pa float64) string { return si.Format(unit.FromSI(pa), 1) }
		reasons = append(reasons, fmt.Sprintf("%s read from %s to %s %s in the hold and is calibrated from %s to %s %s: beyond that "+CorrectionOfTheEnd,
			c.Trapped, text(lowest), text(highest), unit.Symbol, text(low), text(high), unit.Symbol))
	}
	return reasons
}
