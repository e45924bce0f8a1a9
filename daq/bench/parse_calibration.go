package bench

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

// calibration reads [channel.calibration], or a [[calibration]] of that
// channel; nil when t is. known is false where its quantity is not.
func calibration(t *strict.Table, of Channel, known bool) *Calibration {
	if t == nil {
		return nil
	}
	certificate, date, due := t.Required("certificate"), t.Required("date"), t.Required("due")
	u, points := t.Required("uncertainty"), t.Optional("points")
	coefficients, unit, span := t.Optional("coefficients"), t.Optional("unit"), t.Optional("span")
	c := &Calibration{Certificate: certificate.Text(), Date: date.Day(), Due: due.Day(), DueLine: due.Line()}
	c.Reference, c.Laboratory = t.Optional("reference").Text(), t.Optional("laboratory").Text()
	if at := t.Optional("temperature"); at.Given() {
		c.Temperature = at.Quantity(si.Temperature)
	}
	if !c.Date.IsZero() && !c.Due.IsZero() && !c.Due.After(c.Date) {
		due.Fault(due.Found(), "a day after the calibration's own, "+c.Date.Format("2006-01-02"))
	}
	if !known {
		return c
	}
	q := of.Quantity
	c.U = u.Positive(q.Difference())
	if coefficients.Given() {
		points.Refuse("coefficients say it already")
		c.polynomial(coefficients, unit, span, of)
		return c
	}
	unit.Refuse("beside coefficients only")
	span.Refuse("beside coefficients only")
	for _, k := range points.List(pointsWanted, 1) {
		a, b, ok := k.Pair("reference", "indicated", `reference and indicated, e.g. ["100 bar", "100.1 bar"]`)
		if ok {
			c.Points = append(c.Points, CalibrationPoint{Reference: a.Quantity(q), Indicated: b.Quantity(q)})
		}
	}
	for i := 1; i < len(c.Points); i++ {
		before, after := c.Points[i-1], c.Points[i]
		if after.Indicated <= before.Indicated || after.Reference <= before.Reference {
			points.Fault(fmt.Sprintf("points %d and %d not rising", i, i+1), pointsWanted)
			return c
		}
	}
	c.small(points, of)
	return c
}

// mostCorrected is the largest correction, as a share of the channel's range
// (own bound). Whoever needs more has a broken transducer, or has confused two
// columns, and a pressure that is there would be read as none.
const mostCorrected = 0.1

// small notes a correction that is too large to be one.
func (c *Calibration) small(k strict.Key, of Channel) {
	ends := []float64{c.SpanLow, c.SpanHigh}
	if len(c.Coefficients) == 0 {
		ends = nil
		for _, p := range c.Points {
			ends = append(ends, p.Indicated)
		}
	}
	worst := 0.0
	for _, x := range ends {
		worst = max(worst, math.Abs(c.Correct(x)-x))
	}
	span := of.RangeHigh - of.RangeLow
	if !(span > 0) && len(ends) > 1 { // a range that is not stated
		span = ends[len(ends)-1] - ends[0]
	}
	if worst > mostCorrected*span {
		unit := si.DefaultDisplay.Unit(of.Quantity.Difference())
		k.Fault(fmt.Sprintf("a correction of %.4g %s", worst/unit.Factor, unit.Symbol),
			fmt.Sprintf("at most a tenth of the channel's range, %.4g %s; points are pairs of reference and indicated", mostCorrected*span/unit.Factor, unit.Symbol))
	}
}

const (
	pointsWanted       = `pairs of reference and indicated, both rising, e.g. [["0 bar", "0.02 bar"], ["100 bar", "100.05 bar"]]`
	coefficientsWanted = `from two to six numbers, c0 first: reference = c0 + c1·x + c2·x² … with x as indicated, both in unit`
)

// polynomial reads a correction polynomial with its unit and span.
func (c *Calibration) polynomial(coefficients, unit, span strict.Key, of Channel) {
	q := of.Quantity
	for _, k := range coefficients.List(coefficientsWanted, 2) {
		c.Coefficients = append(c.Coefficients, k.Number("a number", func(float64) bool { return true }))
	}
	if len(c.Coefficients) > mostCoefficients {
		coefficients.Fault(fmt.Sprintf("%d numbers", len(c.Coefficients)), coefficientsWanted)
	}
	wanted := fmt.Sprintf("the unit of the coefficients, a unit of %s, e.g. %q", q, si.DefaultDisplay.Unit(q).Symbol)
	if !unit.Given() {
		unit.Fault("nothing", wanted)
	} else if text := unit.Text(); text != "" {
		u, err := si.ParseUnit(text, q)
		if err != nil {
			unit.Fault(strict.Quote(text), wanted)
		}
		c.Unit = u
	}
	if !span.Given() {
		span.Fault("nothing", "the indications from which to which the polynomial was compared with the reference, the lower one first")
		return
	}
	c.SpanLow, c.SpanHigh = span.Range(q)
	if len(c.Coefficients) == 0 || c.Unit.Factor == 0 || math.IsNaN(c.SpanLow) {
		return
	}
	if curve := c.curve(); !curve.Rises() {
		coefficients.Fault("a polynomial that does not rise all over its span", "a correction: a higher indication always means a higher reference")
		return
	}
	c.small(coefficients, of)
}

// mostCoefficients is the highest degree plus one: more would follow the
// noise of the few points that a certificate has.
const mostCoefficients = 6

// calibrations reads [[calibration]], which stand apart from the channels that
// they are of: in a bench file, or in a file of their own. It returns the
// channels named, each with its calibration.
func calibrations(tables []*strict.Table, channels []Channel) (names []string, found []*Calibration) {
	taken := map[string]int{}
	for _, t := range tables {
		k := t.Required("channel")
		name := k.Text()
		_, again := taken[name]
		unique(k, "calibration of this channel", name, taken)
		i := slices.IndexFunc(channels, func(c Channel) bool { return c.Name == name && !c.State })
		if i < 0 {
			if name != "" {
				var known []string
				for _, c := range channels {
					if !c.State {
						known = append(known, c.Name)
					}
				}
				k.Fault(strict.Quote(name), "a measuring channel of the bench"+listed(known))
			}
			calibration(t, Channel{}, false)
			continue
		}
		if again {
			calibration(t, channels[i], true)
			continue
		}
		names, found = append(names, name), append(found, calibration(t, channels[i], true))
	}
	return names, found
}

// apart reads the [[calibration]] of a bench file.
func (p *parser) apart(tables []*strict.Table) {
	names, found := calibrations(tables, p.bench.Channels)
	for i, name := range names {
		_, at, _ := p.bench.Channel(name)
		c := &p.bench.Channels[at]
		if c.Calibration != nil {
			p.channelTables[at].Optional("calibration").Fault("a second calibration of this channel", "either [channel.calibration] or [[calibration]] with channel = "+strict.Quote(name))
		}
		c.Calibration = found[i]
	}
}

// Recalibrate puts the calibrations of a file, one [[calibration]] for each
// channel that it names, in the place of the bench's own, and returns the names
// of these channels. path is used in messages and for Calibration.Source. The
// error joins one *strict.Error for each fault; the bench is then unchanged.
func (b *Bench) Recalibrate(path string, text []byte) (channels []string, err error) {
	root, faults := strict.ParseTOML(path, text)
	if root == nil {
		return nil, faults.Err()
	}
	tables := root.Required("calibration").Tables()
	names, found := calibrations(tables, b.Channels)
	root.Close()
	if faults.Err() == nil {
		b.levelled(tables)
	}
	if err := faults.Err(); err != nil {
		return nil, err
	}
	b.Channels = slices.Clone(b.Channels)
	for i, name := range names {
		_, at, _ := b.Channel(name)
		found[i].Source = filepath.Base(path)
		b.Channels[at].Calibration = found[i]
	}
	return names, nil
}
