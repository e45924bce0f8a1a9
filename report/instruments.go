package report

import (
	"strings"

	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/report/figure"
	"holdbench/report/lettering"
	"holdbench/report/result"
)

// instruments is the table of what measured, with its calibration.
func (c *composer) instruments() block { return c.instrumentTable("Instruments", cellLines) }

// instrumentTable shows so many lines of a cell at most.
func (c *composer) instrumentTable(title string, most int) block {
	columns := []column{
		{title: "channel", weight: 1.9},
		{title: "instrument", weight: 1.8},
		{title: "measures", weight: 2.2},
		{title: "range", weight: 1.8},
		{title: "certificate", weight: 1.7},
		{title: "calibrated", kind: tight},
		{title: "due", kind: tight},
	}
	var rows []row
	for _, i := range c.f.Result.Instruments {
		due := orNone(i.Due)
		if i.Overdue {
			due += " OVERDUE"
		}
		rows = append(rows, row{bold: i.Overdue, most: most, cells: []string{
			i.Channel, i.Instrument, orNone(c.measures(i)), orNone(trueMinus(i.Range)), orNone(i.Certificate), orNone(i.Calibrated), due,
		}})
	}
	if len(rows) == 0 {
		return block{}
	}
	return c.table(title, columns, rows, c.textWidth)
}

func (c *composer) measures(i result.Instrument) string {
	if i.Circuit != "" && len(c.f.Result.Circuits) > 1 {
		return strings.TrimPrefix(i.Role+", circuit "+i.Circuit, ", ")
	}
	return i.Role
}

// instrumentPages are instruments and calibrations in full.
func (c *composer) instrumentPages() []*Page {
	const allLines = 40
	table := c.instrumentTable("What measured", allLines)
	if table.height() == 0 {
		return nil
	}
	flow := newFlow(c.sheet, c.titled("Instruments and calibration"))
	flow.add(single(table, 0))
	if spreads := c.spreads(); spreads.height() > 0 {
		flow.add(single(spreads, between))
	}
	if zeros := c.zeroChecks(); zeros.height() > 0 {
		flow.add(single(zeros, between))
		flow.add(single(c.aside("By how much a trapped side's zero moved counts as drift in the uncertainty."), 2*mm))
	}
	if timing := c.f.Result.Recording.Timing; len(timing) > 0 {
		flow.add(single(c.list("How punctually it was read", timing, c.textWidth), between))
	}
	if a := c.f.Result.Calibration; a != nil {
		flow.add(single(block{body: c.item(fullSentence(a.Text()+" (file "+shortHash(a.Hash)+")"), c.textWidth)}, between))
	}
	if troubles := c.f.Result.Recording.Troubles; len(troubles) > 0 {
		flow.add(single(c.list("What was wrong while it was read", troubles, c.textWidth), between))
	}
	channels := c.channels()
	if len(channels) == 0 {
		return flow.pages
	}
	flow.add(single(c.accuracies(channels), between))
	flow.add(single(c.aside(
		"Accuracy is the maker's limit of error; u is a standard uncertainty (k = 1). The calibrations below were applied to the readings; a channel without one was used as it indicates."), 2*mm))
	var tables []block
	for _, ch := range channels {
		if ch.Calibration.Corrects() {
			tables = append(tables, c.calibration(ch))
		}
	}
	for len(tables) > 0 {
		if len(tables) == 1 {
			tables = append(tables, block{})
		}
		flow.add(c.pair(tables[0], tables[1], between))
		tables = tables[2:]
	}
	return flow.pages
}

// channels are those of the instruments' table that measure, each once, as the
// bench file has them.
func (c *composer) channels() (found []bench.Channel) {
	seen := map[string]bool{}
	for _, i := range c.f.Result.Instruments {
		for _, ch := range c.f.Channels {
			if ch.Name == i.Channel && !ch.State && !seen[ch.Name] {
				seen[ch.Name] = true
				found = append(found, ch)
			}
		}
	}
	return found
}

// accuracies are the figures of each channel that enter the budgets.
func (c *composer) accuracies(channels []bench.Channel) block {
	columns := []column{
		{title: "channel", weight: 1.5},
		{title: "signal", weight: 2.2},
		{title: "unit", kind: tight},
		{title: "accuracy\u00a0±", kind: rights},
		{title: "calibration u", kind: rights},
		{title: "resolution", kind: rights},
		{title: "drift u per\u00a0hour", kind: rights},
		{title: "gain u [%]", kind: rights},
	}
	var rows []row
	for _, ch := range channels {
		unit := c.display.Unit(ch.Quantity.Difference())
		figure := func(x float64) string { return figureOrNone(x / unit.Factor) }
		calibration := none
		if ch.Calibration != nil {
			calibration = figure(ch.Calibration.U)
		}
		rows = append(rows, row{cells: []string{
			ch.Name, c.signal(ch), unit.Symbol, figure(ch.Accuracy), calibration, figure(ch.Resolution),
			figure(ch.DriftU * 3600), figureOrNone(ch.GainU * 100),
		}})
	}
	return c.table("What enters the uncertainty", columns, rows, c.textWidth)
}

// figureOrNone writes a figure that is given with two digits; 0 means that the
// bench file does not state it.
func figureOrNone(x float64) string {
	if !(x > 0) {
		return none
	}
	return number(x, decimalsFor(x, si.Decimals(x)))
}

// signal says what an instrument sends and what it stands for.
func (c *composer) signal(ch bench.Channel) string {
	text := ch.RawUnit
	if s := ch.Scaling; s != nil {
		raw, err := si.ParseUnit(ch.RawUnit, ch.RawQuantity)
		if ch.Excitation.Given() {
			raw, err = si.ParseUnit("mV/V", si.Dimensionless)
		}
		if err != nil {
			raw = ch.RawQuantity.SI()
		}
		text = fromTo(s.SignalLow, s.SignalHigh, raw) + " → " + fromTo(s.ValueLow, s.ValueHigh, c.display.Unit(ch.Quantity))
	}
	if by := ch.Sensing(); by != "" {
		text += ", " + by
	}
	if ch.Quantity == si.Pressure {
		text += map[bool]string{true: ", absolute", false: ", gauge"}[ch.Absolute]
	}
	return orNone(strings.TrimPrefix(text, ", "))
}

// fromTo writes from…to in a unit.
func fromTo(low, high float64, u si.Unit) string {
	plain := func(x float64) string { return number(u.FromSI(x), decimalsFor(u.FromSI(x), 0)) }
	return plain(low) + "…" + plain(high) + "\u00a0" + u.Symbol
}

// calibration is a channel's comparison with a reference, point by point.
func (c *composer) calibration(ch bench.Channel) block {
	unit, difference := c.display.Unit(ch.Quantity), c.display.Unit(ch.Quantity.Difference())
	columns := []column{
		{title: "reference", kind: numbers},
		{title: "indicated", kind: numbers},
		{title: "correction", kind: numbers},
	}
	// the decimals of the finest figure on the certificate
	decimals := 1
	points, about := calibrationPoints(ch)
	for _, p := range points {
		for _, x := range []float64{p.Reference, p.Indicated} {
			decimals = max(decimals, min(4, decimalsFor(unit.FromSI(x), 0)))
		}
	}
	var rows []row
	for _, p := range points {
		rows = append(rows, row{cells: []string{
			number(unit.FromSI(p.Reference), decimals), number(unit.FromSI(p.Indicated), decimals),
			number((p.Reference-p.Indicated)/difference.Factor, decimals),
		}})
	}
	b := c.table("Calibration of "+ch.Name+" ["+unit.Symbol+"]", columns, rows, c.halfWidth)
	b.body = append(b.body, space(3))
	b.body = append(b.body, c.paragraph(lettering.Regular(sizeTiny), figure.Soft, sizeTiny+2, about, c.halfWidth)...)
	return b
}
