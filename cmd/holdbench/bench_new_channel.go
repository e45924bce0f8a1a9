package main

import (
	"errors"
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"holdbench/analysis/si"
	"holdbench/daq/bench"
	"holdbench/daq/strict"
)

// channelKeys and circuitKeys are the keys of --channel and --circuit.
var (
	channelKeys = []string{"place", "instrument", "name", "quantity", "unit", "scaling", "thermocouple", "cold_junction", "rtd",
		"reference", "range", "accuracy", "certificate"}
	circuitKeys = []string{"name", "trapped", "feed", "temperature"}
)

// channelError is what is wrong with one answer of a --channel.
type channelError struct{ key, found, want string }

func (e *channelError) Error() string {
	return (&strict.Error{Field: "--channel: " + e.key, Found: strict.Quote(e.found), Want: e.want}).Error()
}

// quantities by the words of bench files.
var quantities = map[string]si.Quantity{"pressure": si.Pressure, "temperature": si.Temperature, "voltage": si.Voltage, "current": si.Current}

// channel asks what a number means and puts the channel into the draft. value
// is what was read just now.
func (b *newBench) channel(c *bench.DraftChannel, given answers, value float64, float bool) error {
	ask := func(key, text, offered string, optional bool, check func(string) error) (string, error) {
		answer, was := given.by[key]
		if given.text != "" && !was && optional { // a script that does not say it means: none
			answer, was = "", true
		}
		if given.text != "" && !was && offered != "" {
			answer, was = offered, true
		}
		return b.ask(question{flag: "--channel", key: key, text: text, offered: offered, optional: optional, given: answer, wasGiven: was, check: check})
	}
	guess := guessedUnit(c.RawUnit, value, float)
	quantity, err := ask("quantity", "  What it measures (pressure, temperature, voltage, current)", guess.quantity, false, func(s string) error {
		if _, ok := quantities[s]; !ok {
			return &strict.Error{Field: "quantity", Found: strict.Quote(s), Want: "pressure, temperature, voltage or current"}
		}
		return nil
	})
	if err != nil {
		return err
	}
	c.Quantity = quantities[quantity]
	if c.Name, err = ask("name", "  Its name", b.freeChannel(c.Quantity), false, b.freeName); err != nil {
		return err
	}
	if quantity != guess.quantity {
		guess.unit = ""
	}
	unit, err := ask("unit", fmt.Sprintf("  Unit of the number (now %s), with a factor if need be, e.g. bar, 0.001 mA, or 1 for bare counts", shortNumber(value)), guess.unit, false, func(s string) error {
		_, _, err := factorAndUnit(s)
		return err
	})
	if err != nil {
		return err
	}
	if c.RawScale, c.RawUnit, err = factorAndUnit(unit); err != nil {
		return err
	}
	if err := b.conversion(c, ask); err != nil {
		return err
	}
	if c.Quantity == si.Pressure {
		reference, err := ask("reference", "  Gauge or absolute", "gauge", false, oneOf("gauge", "absolute"))
		if err != nil {
			return err
		}
		c.Absolute = reference == "absolute"
	}
	if err := b.figures(c, ask); err != nil {
		return err
	}
	b.draft.Channels = append(b.draft.Channels, *c)
	return nil
}

// asking asks for one key of a channel.
type asking func(key, text, offered string, optional bool, check func(string) error) (string, error)

// conversion asks for the way from the signal to the quantity, where the unit
// is not one of the quantity already.
func (b *newBench) conversion(c *bench.DraftChannel, ask asking) error {
	if _, err := si.ParseUnit(c.RawUnit, c.Quantity); err == nil {
		return nil
	}
	if c.Quantity == si.Temperature && hasQuantity(c.RawUnit, si.Voltage) {
		letter, err := ask("thermocouple", "  Type of the thermocouple (B E J K N R S T), or Enter for a straight line", "", true, oneOf("B", "E", "J", "K", "N", "R", "S", "T"))
		if err != nil {
			return err
		}
		if letter != "" {
			junction, err := ask("cold_junction", `  Its cold junction: a temperature channel named before, or a fixed value`, "23 ± 1 °C", false, nil)
			c.Conversion = []string{"thermocouple = " + strconv.Quote(letter), "cold_junction = " + strconv.Quote(junction)}
			return err
		}
	}
	if c.Quantity == si.Temperature && hasQuantity(c.RawUnit, si.Resistance) {
		name, err := ask("rtd", "  Resistance thermometer (Pt100, Pt1000), or Enter for a straight line", "", true, oneOf("Pt100", "Pt1000"))
		if err != nil || name != "" {
			c.Conversion = []string{"rtd = " + strconv.Quote(name)}
			return err
		}
	}
	offered := ""
	example := "4..20 mA = 0..250 bar"
	if c.Quantity == si.Temperature {
		example = "4..20 mA = -20..120 °C"
	}
	text, err := ask("scaling", "  Signal and value at both ends of the transducer's range, e.g. "+example, offered, false, func(s string) error {
		_, err := parseScaling(s)
		return err
	})
	if err != nil {
		return err
	}
	s, err := parseScaling(text)
	if err != nil {
		return err
	}
	c.Conversion = []string{fmt.Sprintf("scaling = [[%q, %q], [%q, %q]]", s[0], s[2], s[1], s[3])}
	c.RangeLow, c.RangeHigh = s[2], s[3]
	return nil
}

// figures asks for range, accuracy and certificate.
func (b *newBench) figures(c *bench.DraftChannel, ask asking) error {
	offered := ""
	if c.RangeLow != "" {
		offered = joinedRange(c.RangeLow, c.RangeHigh)
	}
	text, err := ask("range", "  Its range, e.g. "+map[bool]string{true: "-20..120 °C", false: "0..250 bar"}[c.Quantity == si.Temperature], offered, offered == "" && c.Quantity != si.Pressure, func(s string) error {
		_, _, err := parseSpan(s, c.Quantity)
		return err
	})
	if err != nil {
		return err
	}
	if text != "" {
		if c.RangeLow, c.RangeHigh, err = parseSpan(text, c.Quantity); err != nil {
			return err
		}
	}
	if c.Accuracy, err = ask("accuracy", "  The maker's limits of error ± (accuracy), e.g. "+map[bool]string{true: "0.3 K", false: "0.25 bar"}[c.Quantity == si.Temperature], "", true, func(s string) error {
		_, err := si.Parse(s, c.Quantity.Difference())
		return err
	}); err != nil {
		return err
	}
	certificate, err := ask("certificate", "  Certificate (number, date, due date, standard uncertainty, e.g.\n  C-17, 2026-03-02, 2027-03-02, 0.05 bar)", "", true, func(s string) error {
		return setCertificate(c, s)
	})
	if err != nil || certificate == "" {
		return err
	}
	return setCertificate(c, certificate)
}

// oneOf wants one of some words.
func oneOf(words ...string) func(string) error {
	return func(s string) error {
		if slices.Contains(words, s) {
			return nil
		}
		return fmt.Errorf("found %q, want %s", s, strings.Join(words, ", "))
	}
}

// unitGuess is what a number seems to be.
type unitGuess struct{ quantity, unit string }

// guessedUnit guesses from a unit that the instrument said, or from the number
// itself; it is offered, never taken unasked.
func guessedUnit(said string, value float64, float bool) unitGuess {
	for _, word := range []string{"pressure", "temperature", "current", "voltage"} {
		if _, err := si.ParseUnit(said, quantities[word]); err == nil && said != "" {
			if word == "current" || word == "voltage" {
				return unitGuess{"pressure", said}
			}
			return unitGuess{word, said}
		}
	}
	switch size := math.Abs(value); {
	case !float && size >= 3800 && size <= 20500:
		return unitGuess{"pressure", "0.001 mA"}
	case float && size >= 3.8 && size <= 20.5:
		return unitGuess{"pressure", "mA"}
	}
	return unitGuess{"pressure", ""}
}

// freeChannel offers a name.
func (b *newBench) freeChannel(q si.Quantity) string {
	names := map[si.Quantity][]string{
		si.Pressure:    {"trapped_a", "feed", "trapped_b", "supply"},
		si.Temperature: {"body", "room"},
	}[q]
	for _, n := range names {
		if b.freeName(n) == nil {
			return n
		}
	}
	return fmt.Sprintf("channel_%d", len(b.draft.Channels)+1)
}

var channelName = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9_-]*$`)

// freeName says what is wrong with a channel's name.
func (b *newBench) freeName(name string) error {
	if !channelName.MatchString(name) {
		return fmt.Errorf("found %q, want letters, digits, - and _, e.g. trapped_a", name)
	}
	for _, c := range b.draft.Channels {
		if c.Name == name {
			return fmt.Errorf("found %q, which another channel has already", name)
		}
	}
	return nil
}

// factorAndUnit reads "0.001 mA", "bar" or "1".
func factorAndUnit(text string) (factor float64, unit string, err error) {
	factor, unit = 1, strings.TrimSpace(text)
	if head, rest, ok := strings.Cut(unit, " "); ok {
		if x, err := strconv.ParseFloat(head, 64); err == nil {
			factor, unit = x, strings.TrimSpace(rest)
		}
	}
	if factor == 0 || math.IsNaN(factor) || math.IsInf(factor, 0) || unit != bench.Counts && len(si.ParseAnyUnit(unit)) == 0 {
		return 0, "", fmt.Errorf("found %q, want a unit, with a factor before it if need be, e.g. bar, 0.01 °C, 0.001 mA; 1 for bare counts", text)
	}
	return factor, unit, nil
}

func hasQuantity(unit string, q si.Quantity) bool {
	_, err := si.ParseUnit(unit, q)
	return err == nil
}

// spanned is "A..B unit".
var spanned = regexp.MustCompile(`^\s*([-+]?[0-9.]+(?:[eE][-+]?[0-9]+)?)\s*\.\.\s*([-+]?[0-9.]+(?:[eE][-+]?[0-9]+)?)\s*(.*?)\s*$`)

// span reads "4..20 mA" as "4 mA" and "20 mA".
func span(text string) (low, high string, ok bool) {
	m := spanned.FindStringSubmatch(text)
	if m == nil {
		return "", "", false
	}
	// "0..250" is read greedily as "0." and ".250": the points belong between.
	a, z := strings.TrimRight(m[1], "."), m[2]
	unit := m[3]
	if unit == "" {
		unit = bench.Counts
	}
	if _, err := strconv.ParseFloat(a, 64); err != nil {
		return "", "", false
	}
	if _, err := strconv.ParseFloat(z, 64); err != nil {
		return "", "", false
	}
	return strings.TrimSpace(a + " " + unit), strings.TrimSpace(z + " " + unit), true
}

// parseScaling reads "4..20 mA = 0..250 bar" as signal low and high, value low
// and high.
func parseScaling(text string) (out [4]string, err error) {
	signal, value, ok := strings.Cut(text, "=")
	var okSignal, okValue bool
	out[0], out[1], okSignal = span(signal)
	out[2], out[3], okValue = span(value)
	if !ok || !okSignal || !okValue || out[0] == out[1] || out[2] == out[3] {
		return out, fmt.Errorf("found %q, want signal and value at both ends, e.g. 4..20 mA = 0..250 bar", text)
	}
	return out, nil
}

// parseSpan reads a range "0..250 bar" of a quantity.
func parseSpan(text string, q si.Quantity) (low, high string, err error) {
	low, high, ok := span(text)
	if ok {
		a, err1 := si.Parse(low, q)
		z, err2 := si.Parse(high, q)
		if ok = errors.Join(err1, err2) == nil && a < z; ok {
			return low, high, nil
		}
	}
	return "", "", fmt.Errorf("found %q, want a range of %s, e.g. 0..250 bar", text, q)
}

// joinedRange is "0..250 bar" of "0 bar" and "250 bar".
func joinedRange(low, high string) string {
	a, _, _ := strings.Cut(low, " ")
	return a + ".." + high
}

// parseSeconds reads a time in s.
func parseSeconds(text string) (float64, error) { return si.Parse(text, si.Time) }

// setCertificate reads "number, date, due date, standard uncertainty".
func setCertificate(c *bench.DraftChannel, text string) error {
	parts := strings.Split(text, ",")
	for i := range parts {
		parts[i] = strings.TrimSpace(parts[i])
	}
	want := fmt.Errorf("found %q, want number, date, due date and standard uncertainty, e.g. C-17, 2026-03-02, 2027-03-02, 0.05 bar", text)
	if len(parts) != 4 || parts[0] == "" {
		return want
	}
	date, err1 := time.Parse("2006-01-02", parts[1])
	due, err2 := time.Parse("2006-01-02", parts[2])
	u, err3 := si.Parse(parts[3], c.Quantity.Difference())
	if errors.Join(err1, err2, err3) != nil || !due.After(date) || !(u >= 0) {
		return want
	}
	c.Certificate, c.Date, c.Due, c.Uncertainty = parts[0], parts[1], parts[2], parts[3]
	return nil
}
