package decay

import (
	"fmt"
	"math"

	"holdbench/analysis/fit"
	"holdbench/analysis/si"
	"holdbench/analysis/uncertainty"
)

// What must be clear before a word is said of it; the house's own (mark P).
const (
	// sharedBy is how well a share of the fall must be known, and leastShare
	// how large it is to be told of.
	sharedBy, leastShare = 0.1, 0.05
	// seenFrom is from how many standard uncertainties on a loss is seen, and
	// steadyFrom from how many its steadiness: then each half of the hold
	// shows it by itself.
	seenFrom, steadyFrom = 3.0, 8.0
	// boundLevel is the one-sided level of a bound that is not excluded.
	boundLevel = 0.95
)

// searchLaws lays the laws that are searched for where no other explains the
// readings y, and keeps the one that explains them about as well as the freer
// curve; nil where none does.
func (f *fitting) searchLaws(y []float64) {
	if f.explained() {
		return
	}
	effective, n := f.instead.effective, float64(len(f.t))
	criterion := func(rss float64, parameters int) float64 {
		return fit.AICc(rss*effective/n, int(effective), parameters)
	}
	least := criterion(f.instead.rss, f.instead.parameters()) + tellsApart
	for i, m := range models {
		if m.searched == 0 {
			continue
		}
		l, err := m.lay(f.t, y, f.choice.laid[0].frame)
		if err != nil {
			continue
		}
		f.choice.laid[i] = l
		if a := criterion(l.rss, l.size+1); a < least {
			least, f.searched = a, l
		}
	}
}

// courseWords say what the course of the pressure speaks for and against; nothing
// where it is within the noise.
func (f *fitting) courseWords(e map[string]Quantity) (out []string) {
	say := func(text string) {
		if text != "" {
			out = append(out, text)
		}
	}
	say(f.temperatureWords())
	loss, leak := e["decay_rate"], e["leak_rate"]
	if loss.Absent != "" || f.interrupted() {
		return out
	}
	bound := loss
	if leak.Absent == "" {
		bound = leak
	}
	seen := loss.Value / loss.StdUncertainty
	switch {
	case !(math.Abs(seen) >= seenFrom):
		say(fmt.Sprintf("no loss is seen beside what temperature explains; one of up to %s is not excluded", upTo(loss)))
	case seen < 0:
		say("beside what temperature explains the pressure rises")
	case f.searched != nil && f.searched.name == Intermittent:
		say("the loss comes and goes")
	case f.searched != nil && f.searched.name == Below:
		p := f.searched.at(f.searched.c, f.searched.frame, f.searched.c[3])
		say(fmt.Sprintf("the loss grows once the pressure has fallen below %s", shown(p.value, si.Pressure)))
	case f.diagnostics.StillSettling && f.clearLeak(leak):
		say(fmt.Sprintf("the rest slows as settling does; a leak remains beside it, of up to %s", upTo(bound)))
	case f.diagnostics.StillSettling:
		say(fmt.Sprintf("the rest slows as settling does; a leak of up to %s is not excluded", upTo(bound)))
	case f.instead != nil:
		say("the loss is neither steady nor does it slow as settling or a leak towards the sink does")
	case f.choice.taken > 0:
		say(fmt.Sprintf("the loss slows as that of a leak does that goes by the pressure: %s", f.choice.law().title))
	case seen >= steadyFrom:
		say("the loss goes on as steadily as a leak does")
	}
	if f.settled != nil && seen >= seenFrom && !f.clearLeak(leak) && leak.Absent == "" {
		say(fmt.Sprintf("settling as characterised explains the rest; a leak of up to %s is not excluded", upTo(leak)))
	}
	return out
}

func (f *fitting) clearLeak(leak Quantity) bool {
	return leak.Absent == "" && leak.Value >= seenFrom*leak.StdUncertainty
}

// temperatureWords say what part of the change that was read temperature
// explains, where that is known well enough.
func (f *fitting) temperatureWords() string {
	if f.liquid == nil || f.coefficient().Value == 0 || f.interrupted() {
		return ""
	}
	d, slope := &f.diagnostics, []float64(nil)
	slope, _ = slopeWeights(f.t)
	thermal := -f.coefficient().Value * d.LiquidRate
	u, _ := f.temperatureLines(f.respond(slope)).Combined()
	noise := f.choice.law().noise(f.meanLoss(f.choice.law()).fn)
	if !(math.Abs(d.RawRate) >= seenFrom*noise) || !(u <= sharedBy*math.Abs(d.RawRate)) {
		return ""
	}
	share, way := thermal/d.RawRate, "fall"
	if d.RawRate < 0 {
		way = "rise"
	}
	margin := 2 * math.Hypot(u, noise) / math.Abs(d.RawRate)
	switch {
	case share > 1+margin:
		return fmt.Sprintf("temperature alone would have let the pressure %s by more than it did", way)
	case share >= leastShare:
		return fmt.Sprintf("temperature explains %.0f %% of the %s", math.Min(100*share, 100), way)
	case share <= -leastShare:
		return fmt.Sprintf("temperature hides %.0f %% of what else made the pressure %s", math.Min(100*share/(share-1), 100), way)
	}
	return ""
}

// upTo is the upper bound of a rate that is not excluded, in the unit in which
// it is shown, rounded up to two digits.
func upTo(q Quantity) string {
	unit := si.DefaultDisplay.Unit(q.Quantity)
	x := unit.FromSI(max(0, q.Value+uncertainty.T(boundLevel, q.DegreesOfFreedom)*q.StdUncertainty))
	if !(x > 0) || math.IsInf(x, 0) {
		return si.Format(0, 2) + " " + unit.Symbol
	}
	decimals := max(0, 1-int(math.Floor(math.Log10(x))))
	scale := math.Pow(10, float64(decimals))
	return si.Format(math.Ceil(x*scale-1e-9)/scale, decimals) + " " + unit.Symbol
}

// candidates are the laws that were laid.
func (f *fitting) candidates() (out []Candidate) {
	for i, l := range f.choice.laid {
		if l != nil && models[i].searched == 0 {
			out = append(out, Candidate{l.name, f.choice.aicc[i], f.choice.weight[i]})
		}
	}
	return out
}
