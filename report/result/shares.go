package result

import (
	"fmt"
	"math"

	"holdbench/analysis/decay"
	"holdbench/analysis/series"
	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/daq/sensor"
)

// The lines that a channel's sensor has in a budget besides the figures of its
// maker. Only what changes in a hold is there: what is wrong by the same amount
// at its beginning and its end cancels.

// transducerShares are those of a pressure transducer; level is the pressure,
// Pa, at which it is used.
func transducerShares(b *bench.Bench, ch bench.Channel, level float64) (shares []decay.Share) {
	if u, note, fixed := excitation(b, ch); u > 0 {
		s := decay.Share{Source: decay.SourceExcitation, Note: note, Gain: u}
		if fixed {
			s.Shift = math.Sqrt2 * u * math.Abs(level)
		}
		shares = append(shares, s)
	}
	return append(shares, interpolation(ch)...)
}

// thermometerShares are those of a thermometer; column yields another channel's
// readings.
func thermometerShares(b *bench.Bench, ch bench.Channel, column func(name string) series.Column) (shares []decay.Share) {
	shares = append(shares, toleranceClass(ch)...)
	if ch.ColdJunction.Given() {
		if s := coldJunction(b, ch, column); s.Shift > 0 || s.Drift > 0 || s.BesideGain > 0 {
			shares = append(shares, s)
		}
	}
	if u, note, fixed := excitation(b, ch); u > 0 {
		s := decay.Share{Source: decay.SourceExcitation, Note: note, Gain: u}
		if fixed {
			s.Shift = math.Sqrt2 * u * kelvinsOf(ch)
		}
		shares = append(shares, s)
	}
	return append(shares, interpolation(ch)...)
}

// toleranceClass is what a sensor's class leaves in a change of temperature: the
// slope of the steepest straight deviation within the class's limits of error,
// a limit too, so that every slope up to it is as likely. A certificate that
// corrects the readings is about this very sensor and stands in its place,
// where it says more of the slope: one point alone says nothing of it.
//
// Source: JCGM 100:2008, 4.3.7, for limits of error (mark M).
func toleranceClass(ch bench.Channel) []decay.Share {
	class, ok := sensor.ClassOf(ch.Sensor, ch.ToleranceClass)
	if !ok {
		return nil
	}
	gain := class.Slope() / math.Sqrt(3)
	if u := certifiedSlope(ch.Calibration); u < gain {
		return []decay.Share{{
			Source: decay.SourceToleranceClass, Gain: u,
			Note: fmt.Sprintf("certificate %s in its place: its uncertainty at either end of its span", ch.Calibration.Certificate),
		}}
	}
	low, high := class.Range()
	u := si.DefaultDisplay.Temperature
	return []decay.Share{{
		Source: decay.SourceToleranceClass, Gain: gain,
		Note: fmt.Sprintf("%s class %s of %s: a change is misread by up to %.2g %% (steepest line within the limits of error from %.6g to %.6g °C); what is constant cancels",
			class.Standard, class.Name, sensorName(ch), 100*class.Slope(), u.FromSI(low), u.FromSI(high)),
	}}
}

// certifiedSlope is the standard uncertainty of a corrected sensor's slope, by
// the certificate's at either end of its span, each for itself; infinite where
// it says nothing of it.
func certifiedSlope(c *bench.Calibration) float64 {
	low, high, ok := c.Span()
	if !ok || !(high > low) {
		return math.Inf(1)
	}
	return math.Sqrt2 * c.U / (high - low)
}

// sensorName is what a channel's sensor is called on pages; empty for none.
func sensorName(ch bench.Channel) string {
	if _, couple := ch.Conversion.(sensor.Thermocouple); couple {
		return "thermocouple " + ch.Sensor
	}
	return ch.Sensor
}

// coldJunction is what is not known of how a thermocouple's cold junction moves
// in a hold. Of a fixed value it is the difference of two temperatures, each
// within what is stated, with nothing known of how soon they follow each other:
// √2 times the standard uncertainty. Of a measured one it is what its own
// sensor misreads of the change that it shows, and the steps in which it does.
func coldJunction(b *bench.Bench, ch bench.Channel, column func(name string) series.Column) decay.Share {
	s := decay.Share{Source: decay.SourceColdJunction}
	counts := junctionCounts(ch)
	other, _, measured := b.Channel(ch.ColdJunction.Channel)
	if !measured {
		s.Shift = counts * math.Sqrt2 * ch.ColdJunction.U
		s.Note = fmt.Sprintf("fixed at %.4g °C with a standard uncertainty of %s at any time; measured, it would be less",
			si.DefaultDisplay.Temperature.FromSI(ch.ColdJunction.Value), figureOf(ch.ColdJunction.U, si.TemperatureDifference))
		return s
	}
	s.Shift = counts * other.Resolution / math.Sqrt(6) // a rectangular one at either end
	s.Drift = counts * other.DriftU
	s.BesideGain = other.GainU
	for _, class := range toleranceClass(other) {
		s.BesideGain = math.Hypot(s.BesideGain, class.Gain)
	}
	s.BesideGain *= counts
	s.Beside = column(other.Name)
	s.Note = fmt.Sprintf("%s: what it misreads of its own change, its steps and its drift", other.Name)
	return s
}

// junctionCounts is by how much a temperature is wrong where its cold junction
// is by 1 K: the ratio of the slopes of the reference function at the two. The
// liquid is taken to be near the usual temperature, not in the middle of a
// range that may reach to a thousand degrees.
func junctionCounts(ch bench.Channel) float64 {
	couple, ok := ch.Conversion.(sensor.Thermocouple)
	if !ok {
		return 1
	}
	at := UsualTemperature
	if ch.RangeLow < ch.RangeHigh {
		at = min(max(at, ch.RangeLow), ch.RangeHigh)
	}
	junction := ch.ColdJunction.Value
	if !(junction > 0) {
		junction = UsualTemperature
	}
	if ratio := math.Abs(couple.Seebeck(junction) / couple.Seebeck(at)); ratio > 0 {
		return ratio
	}
	return 1
}

// excitation is the relative standard uncertainty of what a sensor is fed with,
// and where it is known from. The maker's limit of error of a channel that
// measures it is a rectangular distribution; it is the same all the time, as a
// fixed value's need not be.
func excitation(b *bench.Bench, ch bench.Channel) (u float64, note string, fixed bool) {
	if !ch.Excitation.Given() {
		return 0, "", false
	}
	other, _, measured := b.Channel(ch.Excitation.Channel)
	if !measured {
		u = ch.Excitation.U / ch.Excitation.Value
		return u, fmt.Sprintf("fixed at %s with a relative standard uncertainty of %.2g %% at any time; measured, it would be less",
			excitationOf(ch), 100*u), true
	}
	level := (other.RangeLow + other.RangeHigh) / 2
	if u = other.GainU; level > 0 {
		u = math.Hypot(u, other.Accuracy/math.Sqrt(3)/level)
		if other.Calibration != nil {
			u = math.Hypot(u, other.Calibration.U/level)
		}
	}
	return u, "measured by " + other.Name, false
}

func excitationOf(ch bench.Channel) string {
	if _, platinum := ch.Conversion.(sensor.RTD); platinum {
		return fmt.Sprintf("%.6g mA", ch.Excitation.Value*1000)
	}
	return fmt.Sprintf("%.6g V", ch.Excitation.Value)
}

// kelvinsOf is by how many kelvins a resistance thermometer is wrong at the
// usual temperature where its resistance is by 100 %.
func kelvinsOf(ch bench.Channel) float64 {
	r, ok := ch.Conversion.(sensor.RTD)
	if !ok {
		return 0
	}
	const h = 0.5 // K
	slope := (r.Resistance(UsualTemperature+h) - r.Resistance(UsualTemperature-h)) / (2 * h)
	return r.Resistance(UsualTemperature) / slope
}

// interpolation is what a table leaves in a change that is read between two of
// its points: up to half of what its slope changes by from one piece to the
// next.
func interpolation(ch bench.Channel) []decay.Share {
	table, ok := ch.Conversion.(sensor.Table)
	if !ok {
		return nil
	}
	bend := table.Bend(ch.RangeLow, ch.RangeHigh)
	if bend == 0 {
		return nil
	}
	return []decay.Share{{
		Source: decay.SourceInterpolation, Gain: bend / math.Sqrt(3),
		Note: fmt.Sprintf("straight between points: the slope is wrong by up to %.2g %%", 100*bend),
	}}
}

// figureOf writes an SI figure in the unit in which it is shown by default.
func figureOf(x float64, q si.Quantity) string {
	u := si.DefaultDisplay.Unit(q)
	return fmt.Sprintf("%.3g %s", u.FromSI(x), u.Symbol)
}
