package main

import (
	"fmt"

	"holdbench/analysis"
	"holdbench/analysis/decay"
	"holdbench/analysis/si"
	"holdbench/report"
	"holdbench/report/result"
)

// expectations say in words what was reckoned with.
func expectations(p analysis.Prospect, from result.Basis, d si.Display) []string {
	write := func(x float64, q si.Quantity) string {
		unit := d.Unit(q)
		return si.Format(x/unit.Factor, si.Decimals(x/unit.Factor)) + " " + unit.Symbol
	}
	noise := from.Noise
	if p.Inflation > 1 {
		noise += fmt.Sprintf(", × %.2f for autocorrelation", p.Inflation)
	}
	out := []string{
		fmt.Sprintf("pressure: %d readings that scatter by %s (%s)", p.Readings, write(p.Noise, si.PressureChange), noise),
		fmt.Sprintf("transducer's drift: %s per hour, standard uncertainty (%s)", write(3600*p.Transducer.Drift, si.PressureChange), from.Drift),
	}
	if p.NoTemperature {
		out = append(out, "no temperature channel")
	} else {
		out = append(out, temperatureWords(p, from, write)...)
	}
	if from.NotCharacterised != "" {
		out = append(out, from.NotCharacterised)
	}
	if p.Known.Source != "" {
		out = append(out, "characterisation: "+p.Known.Source)
	}
	return out
}

// temperatureWords say what the temperature does, how it is read, and what
// stands in for what nobody has measured of it.
func temperatureWords(p analysis.Prospect, from result.Basis, write func(float64, si.Quantity) string) []string {
	scatter := "whose scatter is not known and taken as zero (a recording with --blank shows it)"
	if p.TemperatureNoise > 0 {
		scatter = "that scatter by " + write(p.TemperatureNoise, si.TemperatureDifference)
	}
	out := []string{
		fmt.Sprintf("temperature: changes by %s over a hold of %s and comes to rest at its end (%s)",
			write(p.Swing, si.TemperatureDifference), report.Seconds(p.SwingOver), from.Swing),
		fmt.Sprintf("in a shorter hold it changes by what that mean rate makes in its time, in a longer one by no more (unless said); in this one by %s",
			write(p.TemperatureChange, si.TemperatureDifference)),
		fmt.Sprintf("temperature: %d readings %s, in steps of %s", p.TemperatureReadings, scatter, write(p.Thermometer.Resolution, si.TemperatureDifference)),
	}
	if p.Known.ThermalCoefficient == nil {
		out = append(out, "thermal coefficient: not characterised; assumed 0 ± "+write(decay.UnknownThermalCoefficient, si.ThermalCoefficient)+
			", standard uncertainty, nothing compensated; holdbench characterise thermal measures it")
	}
	if p.Known.Lag == nil {
		out = append(out, "lag: not characterised; assumed 0 ± "+write(decay.UnknownLag, si.Time)+", standard uncertainty; holdbench characterise thermal measures it")
	}
	return out
}
