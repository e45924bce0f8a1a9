package report

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"

	"holdbench/analysis/si"
	"holdbench/analysis/verdict"
	"holdbench/report/result"
)

// level is the coverage of every interval on a page.
const level = 0.95

// none stands where there is no figure.
const none = "–"

// number writes x with so many decimals and a true minus sign; what would fill
// a column with digits, with an exponent.
func number(x float64, decimals int) string {
	if math.Abs(x) >= 1e9 && !math.IsInf(x, 0) {
		return strings.Replace(strconv.FormatFloat(x, 'e', 3, 64), "-", "−", 1)
	}
	return strings.Replace(si.Format(x, decimals), "-", "−", 1)
}

// decimalsFor returns the decimals with which x is shown: at least so many,
// and more as far as x has them within its first four digits.
func decimalsFor(x float64, least int) int {
	if x == 0 {
		return least
	}
	most := 3 - int(math.Floor(math.Log10(math.Abs(x))))
	for d := least; d < most; d++ {
		scale := math.Pow(10, float64(d))
		if math.Abs(math.Round(x*scale)/scale-x) <= 1e-6*math.Abs(x) {
			return d
		}
	}
	return max(least, most)
}

// apart returns decimals, at least so many, at which two figures that differ
// do not look the same.
func apart(x, y float64, least int) int {
	d := least
	for x != y && d < 6 && number(x, d) == number(y, d) {
		d++
	}
	return d
}

// unitOf returns the display unit of an estimated quantity.
func (c *setter) unitOf(quantity string) si.Unit {
	row, ok := verdict.Lookup(quantity)
	if !ok {
		return si.Dimensionless.SI()
	}
	return c.display.Unit(row.Quantity)
}

// titleOf is a quantity in words.
func (c *setter) titleOf(quantity string, after *float64) string {
	row, ok := verdict.Lookup(quantity)
	switch {
	case !ok:
		return quantity
	case after != nil:
		return row.Title + " " + duration(*after)
	}
	return row.Title
}

func duration(seconds float64) string {
	switch {
	case seconds >= 3600 && math.Mod(seconds, 3600) == 0:
		return strconv.FormatFloat(seconds/3600, 'f', -1, 64) + " h"
	case seconds >= 60 && math.Mod(seconds, 60) == 0:
		return strconv.FormatFloat(seconds/60, 'f', -1, 64) + " min"
	}
	return strconv.FormatFloat(seconds, 'f', -1, 64) + " s"
}

// shown is an estimate in display units.
type shown struct {
	value, expanded float64 // expanded at 95 %; NaN where unknown
	unit            si.Unit
	decimals        int
	known           bool
}

func (c *setter) show(quantity string, e result.Estimate) shown {
	s := shown{unit: c.unitOf(quantity), expanded: math.NaN()}
	if e.Value == nil {
		return s
	}
	s.known = true
	if s.unit.Quantity == si.Time {
		s.unit = timeUnit(*e.Value)
	}
	s.value = s.unit.FromSI(*e.Value)
	if e.U != nil {
		s.expanded = e.Expanded() / s.unit.Factor
	}
	s.decimals = si.Decimals(s.expanded)
	if !(s.expanded > 0) {
		s.decimals = decimalsFor(s.value, s.decimals)
	}
	return s
}

// in is the same in another unit without an offset.
func (s shown) in(unit si.Unit) shown {
	by := s.unit.Factor / unit.Factor
	s.value, s.expanded, s.unit = s.value*by, s.expanded*by, unit
	s.decimals = si.Decimals(s.expanded)
	if !(s.expanded > 0) {
		s.decimals = decimalsFor(s.value, s.decimals)
	}
	return s
}

// timeUnit is the unit in which a time of so many seconds reads well.
func timeUnit(seconds float64) si.Unit {
	symbol := "s"
	switch seconds = math.Abs(seconds); {
	case seconds >= 6*3600:
		symbol = "h"
	case seconds >= 600:
		symbol = "min"
	}
	u, err := si.ParseUnit(symbol, si.Time)
	if err != nil {
		return si.Time.SI()
	}
	return u
}

func (s shown) valueText() string {
	if !s.known {
		return none
	}
	return number(s.value, s.decimals)
}

func (s shown) expandedText() string {
	if !s.known || math.IsNaN(s.expanded) {
		return none
	}
	return number(s.expanded, s.decimals)
}

// limitFigures are a limit's numbers in display units, with the decimals at
// which limit and deciding bound can be told apart.
type limitFigures struct {
	estimate     shown
	limit, bound float64 // bound NaN where there is none
	decimals     int
}

func (c *setter) figuresOf(t result.Test, l result.Limit) limitFigures {
	f := limitFigures{estimate: c.show(l.Quantity, t.Estimates[l.Quantity]), bound: math.NaN()}
	u := f.estimate.unit
	f.limit = u.FromSI(l.Value)
	f.decimals = f.estimate.decimals
	if !f.estimate.known {
		f.decimals = decimalsFor(f.limit, 1)
	}
	if l.DecidedBy != nil {
		f.bound = u.FromSI(*l.DecidedBy)
		f.decimals = apart(f.limit, f.bound, f.decimals)
	}
	return f
}

func (f limitFigures) limitText() string { return number(f.limit, decimalsFor(f.limit, f.decimals)) }

func (f limitFigures) boundText() string {
	if math.IsNaN(f.bound) {
		return none
	}
	return number(f.bound, f.decimals)
}

// decidedSentence says by which bound a limit was decided.
func (c *setter) decidedSentence(t result.Test, l result.Limit) string {
	f := c.figuresOf(t, l)
	unit, limit := f.estimate.unit.Symbol, "limit "+f.limitText()+" "+f.estimate.unit.Symbol
	name := c.titleOf(l.Quantity, l.After)
	if math.IsNaN(f.bound) {
		return fmt.Sprintf("%s unknown, %s", name, limit)
	}
	if l.Rule == verdict.Simple.String() {
		return fmt.Sprintf("%s %s ± %s %s (95\u00a0%%), %s, simple rule",
			name, f.boundText(), f.estimate.expandedText(), unit, limit)
	}
	risk := l.RiskPass
	words := map[bool]string{true: "at most", false: "at least"}[l.Bound == verdict.Max.String()]
	switch l.Verdict {
	case verdict.Fail.String():
		risk = l.RiskFail
		words = map[bool]string{true: "at least", false: "at most"}[l.Bound == verdict.Max.String()]
	case verdict.Inconclusive.String():
		words = map[bool]string{true: "could be as high as", false: "could be as low as"}[l.Bound == verdict.Max.String()]
	}
	return fmt.Sprintf("%s %s %s %s (%s), %s", name, words, f.boundText(), unit, percent(1-risk), limit)
}

func percent(share float64) string {
	return strconv.FormatFloat(math.Round(share*1e4)/100, 'f', -1, 64) + "\u00a0%"
}

// decider returns the limit of a circuit that its verdict hung on: of those
// with this verdict the one whose bound is closest to the limit for PASS,
// farthest beyond it otherwise. ok is false where no limit decided.
func decider(circuit result.Circuit) (t result.Test, l result.Limit, ok bool) {
	best := math.Inf(-1)
	for _, test := range circuit.Tests {
		for _, limit := range test.Limits {
			if !test.Valid || limit.Verdict != circuit.Verdict || limit.DecidedBy == nil {
				continue
			}
			beyond := *limit.DecidedBy - limit.Value
			if limit.Bound == verdict.Min.String() {
				beyond = -beyond
			}
			if beyond /= math.Abs(limit.Value); !ok || beyond > best {
				best, t, l, ok = beyond, test, limit, true
			}
		}
	}
	return t, l, ok
}

// deciding is what stands under the verdict: for each circuit that has it, the
// bound that decided, or the reason.
func (c *composer) deciding() []string {
	if o := c.f.Result.OverdueOverride; o != nil {
		return append(c.decidedBy(), sentence(o.Text()))
	}
	return c.decidedBy()
}

// decidedBy is what the verdict rests on.
func (c *composer) decidedBy() (lines []string) {
	if ch := c.f.Result.Challenge; ch != nil {
		return []string{"Known-leak challenge " + ch.Code + " of the bench: " + ch.Outcome + ". The unit is not judged."}
	}
	r := c.f.Result
	if c.aborted() {
		return []string{c.notCompleted()}
	}
	for _, circuit := range r.Circuits {
		if circuit.Verdict != r.Verdict {
			continue
		}
		prefix := ""
		if len(r.Circuits) > 1 {
			prefix = "Circuit " + circuit.Name + ": "
		}
		if t, l, ok := decider(circuit); ok {
			lines = append(lines, prefix+c.decidedSentence(t, l))
		} else if reason := firstReason(circuit); reason != "" {
			lines = append(lines, prefix+sentence(reason))
		}
	}
	switch {
	case len(lines) > 0:
		return append(lines, c.looks()...)
	case len(r.Reasons) > 0:
		return []string{sentence(r.Reasons[0])}
	}
	return []string{"No limit was judged"}
}

// looks says at which look a hold was judged that could have ended early or
// gone on by itself, once for all circuits of which it is the same.
func (c *composer) looks() (lines []string) {
	for _, circuit := range c.f.Result.Circuits {
		for _, t := range circuit.Tests {
			if t.Early == nil {
				continue
			}
			line := sentence(t.Early.Text)
			if !slices.Contains(lines, line) {
				lines = append(lines, line)
			}
		}
	}
	return lines
}

// aborted reports whether the verdict rests on a test that was not brought to
// its end.
func (c *composer) aborted() bool {
	r := c.f.Result
	return !r.Completed && c.verdict() == verdict.Inconclusive.String() && len(r.Circuits) > 0
}

// notCompleted says that the test was not completed, and why.
func (c *composer) notCompleted() string {
	const words = "Test not completed"
	why, _ := c.allReasons()
	if len(why) == 0 {
		return words
	}
	return words + ": " + trueMinus(strings.TrimRight(strings.TrimSpace(why[0]), "."))
}

func firstReason(circuit result.Circuit) string {
	for _, t := range circuit.Tests {
		if len(t.Reasons) > 0 {
			return t.Reasons[0]
		}
	}
	return ""
}

// sentence begins a text with a capital and ends it without a full stop.
func sentence(s string) string {
	s = trueMinus(strings.TrimRight(strings.TrimSpace(s), "."))
	for i, r := range s {
		if i == 0 {
			return strings.ToUpper(string(r)) + s[len(string(r)):]
		}
	}
	return s
}

// fullSentence is a sentence with its full stop.
func fullSentence(s string) string {
	s = sentence(s)
	if s == "" || strings.HasSuffix(s, "?") || strings.HasSuffix(s, "!") {
		return s
	}
	return s + "."
}

// instant writes a date and time with its zone; nothing for the zero time.
func instant(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("2006-01-02 15:04:05") + " " + zone(t)
}

// minute is an instant without its seconds.
func minute(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.Format("2006-01-02 15:04") + " " + zone(t)
}

// zone is a time's distance from UTC.
func zone(t time.Time) string {
	if _, offset := t.Zone(); offset == 0 {
		return "UTC"
	}
	return t.Format("-07:00")
}

// shortHash is the beginning of a hash, enough to find the file again.
func shortHash(hash string) string {
	hash = strings.TrimPrefix(hash, "sha256:")
	if len(hash) > 12 {
		return hash[:12]
	}
	return hash
}

// program names this program with a version that may hold its name already.
func program(version string) string {
	if strings.HasPrefix(version, "holdbench") {
		return version
	}
	return strings.TrimSpace("holdbench " + version)
}

// trueMinus writes the hyphens that stand for minus signs in a text as minus
// signs: those before a figure that follow neither a figure nor a letter, as
// they do in dates and names.
func trueMinus(s string) string {
	runes := []rune(s)
	for i, r := range runes {
		if r != '-' || i+1 == len(runes) || !unicode.IsDigit(runes[i+1]) && runes[i+1] != '∞' {
			continue
		}
		if i == 0 || strings.ContainsRune(" \u00a0…(±[,;:=", runes[i-1]) {
			runes[i] = '−'
		}
	}
	return string(runes)
}
