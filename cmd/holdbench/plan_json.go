package main

import (
	"encoding/json"
	"io"
	"math"
	"strings"

	"holdbench/analysis"
	"holdbench/analysis/si"
	"holdbench/report"
	"holdbench/report/result"
)

// The plan as JSON; SI throughout, null where there is no figure.
type planJSON struct {
	Format    string `json:"format"`
	Version   int    `json:"version"`
	Procedure string `json:"procedure"`
	Bench     string `json:"bench"`
	Position  string `json:"position"`
	// Circuits are what was reckoned with.
	Circuits []assumptionsJSON `json:"circuits"`
	Limits   []plannedJSON     `json:"limits"`
}

type plannedJSON struct {
	Circuit  string  `json:"circuit"`
	Quantity string  `json:"quantity"`
	Bound    string  `json:"bound"`
	Value    float64 `json:"value"`
	Unit     string  `json:"unit"`
	// LossUnit is the SI unit of the losses below.
	LossUnit string `json:"loss_unit"`
	Absent   string `json:"absent,omitempty"`
	Resolves bool   `json:"resolves"`
	// Assumed names what nobody has characterised and the budget takes a
	// stand-in for.
	Assumed []string `json:"assumed"`
	// ByLooks: units and mean holds are those with the looks.
	ByLooks  bool     `json:"by_looks"`
	Smallest *float64 `json:"smallest"`
	U        *float64 `json:"u"`
	DOF      *float64 `json:"dof"`
	Factor   *float64 `json:"factor"`
	// Hold times in s that decide the limit reliably; null where none does.
	HoldSteady   *float64     `json:"hold_if_temperature_steady"`
	HoldChanging *float64     `json:"hold_if_temperature_changes_on"`
	Budget       []budgetJSON `json:"budget"`
	Units        []unitJSON   `json:"units"`
	Prior        *priorJSON   `json:"prior,omitempty"`
}

// assumptionsJSON is what was reckoned with for one circuit, SI.
type assumptionsJSON struct {
	Circuit              string  `json:"circuit"`
	Hold                 float64 `json:"hold"`
	SinceLock            float64 `json:"since_lock"`
	Noise                float64 `json:"noise"`
	NoiseInflation       float64 `json:"noise_inflation"`
	NoiseFrom            string  `json:"noise_from"`
	Readings             int     `json:"readings"`
	Drift                float64 `json:"drift"`
	DriftFrom            string  `json:"drift_from"`
	TemperatureChannel   bool    `json:"temperature_channel"`
	TemperatureChange    float64 `json:"temperature_change"`
	TemperatureSwing     float64 `json:"temperature_swing"`
	TemperatureSwingOver float64 `json:"temperature_swing_over"`
	TemperatureSwingFrom string  `json:"temperature_swing_from"`
	// TemperatureNoise is 0 where it is not known.
	TemperatureNoise    float64    `json:"temperature_noise"`
	TemperatureReadings int        `json:"temperature_readings"`
	Characterisation    string     `json:"characterisation,omitempty"`
	NotCharacterised    string     `json:"not_characterised,omitempty"`
	Looks               *looksJSON `json:"looks,omitempty"`
}

// looksJSON: times since t0 in s; the last is the longest hold.
type looksJSON struct {
	Times    []float64 `json:"times"`
	Spending string    `json:"spending"`
}

type budgetJSON struct {
	Source string   `json:"source"`
	U      float64  `json:"u"`
	DOF    *float64 `json:"dof"`
}

type unitJSON struct {
	OfLimit      float64  `json:"of_limit"`
	Loss         *float64 `json:"loss"`
	Pass         float64  `json:"pass"`
	Fail         float64  `json:"fail"`
	Inconclusive float64  `json:"inconclusive"`
	MeanHold     float64  `json:"mean_hold"`
	Early        float64  `json:"early"`
	Extended     float64  `json:"extended"`
}

type priorJSON struct {
	Stated        string  `json:"stated"`
	NotConforming float64 `json:"not_conforming"`
	PassWrongly   float64 `json:"pass_wrongly"`
	FailWrongly   float64 `json:"fail_wrongly"`
	Inconclusive  float64 `json:"inconclusive"`
}

func (p plan) writeJSON(w io.Writer) error {
	out := planJSON{Format: "holdbench plan", Version: 1, Procedure: p.Procedure, Bench: p.Bench, Position: p.Position}
	for i, c := range p.Circuits {
		out.Circuits = append(out.Circuits, assumptionsOf(c, p.basis[i], p.looks))
		for _, l := range c.Limits {
			out.Limits = append(out.Limits, p.limitJSON(c.Name, l))
		}
	}
	enc := json.NewEncoder(w)
	enc.SetIndent("", "  ")
	return enc.Encode(out)
}

func assumptionsOf(c report.PlannedCircuit, from result.Basis, looks *analysis.Looks) assumptionsJSON {
	p := c.Prospect
	out := assumptionsJSON{
		Circuit: c.Name, Hold: p.Duration, SinceLock: p.SinceLock, Noise: p.Noise, NoiseInflation: max(p.Inflation, 1), NoiseFrom: from.Noise,
		Readings: p.Readings, Drift: p.Transducer.Drift, DriftFrom: from.Drift, TemperatureChannel: !p.NoTemperature,
		TemperatureChange: p.TemperatureChange, TemperatureSwing: p.Swing, TemperatureSwingOver: p.SwingOver, TemperatureSwingFrom: from.Swing,
		TemperatureNoise: p.TemperatureNoise, TemperatureReadings: p.TemperatureReadings,
		Characterisation: p.Known.Source, NotCharacterised: from.NotCharacterised,
	}
	if looks != nil {
		out.Looks = &looksJSON{looks.Plan, looks.Spending.String()}
	}
	return out
}

func (p plan) limitJSON(circuit string, l analysis.Planned) plannedJSON {
	_, q := l.Loss(1)
	lossUnit := q.SI().Symbol
	if q == si.Dimensionless {
		lossUnit = "1/s"
	}
	out := plannedJSON{
		Circuit: circuit, Quantity: l.Limit.Quantity, Bound: l.Limit.Bound.String(), Value: l.Limit.Value, Unit: l.Limit.Row().Quantity.SI().Symbol,
		LossUnit: lossUnit, Absent: l.Absent, Resolves: l.Resolves, Assumed: append([]string{}, l.Assumed()...), ByLooks: l.Looks != nil, Smallest: figureOrNull(l.Smallest), U: figureOrNull(l.StdUncertainty),
		DOF: figureOrNull(l.DegreesOfFreedom), Factor: figureOrNull(l.Factor),
		HoldSteady: figureOrNull(l.Steady.Duration), HoldChanging: figureOrNull(l.Changing.Duration),
		Budget: []budgetJSON{},
	}
	for _, line := range l.Budget {
		out.Budget = append(out.Budget, budgetJSON{line.Source, line.StdUncertainty, figureOrNull(line.DegreesOfFreedom)})
	}
	for _, s := range l.Units {
		loss, _ := l.Loss(s.Multiple)
		out.Units = append(out.Units, unitJSON{s.Multiple, figureOrNull(loss), s.Pass, s.Fail, s.Inconclusive, s.Mean, s.Early, s.Extended})
	}
	if g, ok := p.among(l); ok {
		out.Prior = &priorJSON{strings.TrimSpace(p.prior), g.NotConforming, g.Consumer, g.Producer, g.Inconclusive}
	}
	return out
}

// figureOrNull is nil for what JSON has no figure for.
func figureOrNull(x float64) *float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return nil
	}
	return &x
}
