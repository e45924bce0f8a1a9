package study

import (
	"math"
	"strconv"
	"strings"
)

// Columns are the headings of Record: rates in limits, shares from 0 to 1,
// each figure with its standard error by bench behind it.
func Columns() []string {
	out := []string{"judge", "scene", "leak [limits]", "tests", "benches", "limit/u"}
	for _, f := range (Row{}).figures() {
		out = append(out, f.name, f.name+" se")
	}
	return out
}

// Record is a row as text, "" where there is no figure.
func (row Row) Record() []string {
	out := []string{row.Judge, row.Scene, number(row.Leak), strconv.Itoa(row.All.Tests), strconv.Itoa(row.All.Benches), number(row.All.LimitOverU)}
	for _, f := range row.figures() {
		out = append(out, number(f.Value), number(f.Error))
	}
	return out
}

func number(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return ""
	}
	return strconv.FormatFloat(x, 'g', 6, 64)
}

// named is a figure with its name.
type named struct {
	name string
	Figure
}

func (row Row) figures() []named {
	a, w := row.All, row.Worst
	return []named{
		{"decay_rate bias", a.Decay.Bias}, {"decay_rate rms", a.Decay.RMS}, {"decay_rate coverage", a.Decay.Coverage}, {"decay_rate given", a.Decay.Given},
		{"leak_rate bias", a.Leak.Bias}, {"leak_rate rms", a.Leak.RMS}, {"leak_rate coverage", a.Leak.Coverage}, {"leak_rate given", a.Leak.Given},
		{"fail good", a.FailGood}, {"pass leaking", a.PassLeaking}, {"forbidden", a.Forbidden},
		{"inconclusive", a.Inconclusive}, {"invalid", a.Invalid}, {"time to verdict", a.Time},
		{"worst tenth decay_rate rms", w.Decay.RMS}, {"worst tenth decay_rate coverage", w.Decay.Coverage},
		{"worst tenth leak_rate rms", w.Leak.RMS}, {"worst tenth leak_rate coverage", w.Leak.Coverage},
	}
}

// Keys are the names of Object, in the order of Columns: "decay_rate_bias", and
// "decay_rate_bias_se" for its standard error.
func Keys() (out []string) {
	plain := strings.NewReplacer("leak [limits]", "leak", "limit/u", "limit_over_u", " ", "_")
	for _, name := range Columns() {
		out = append(out, plain.Replace(name))
	}
	return out
}

// Object is a row for JSON: names as in Keys, null where there is no figure.
func (row Row) Object() map[string]any {
	out := map[string]any{}
	record := row.Record()
	for i, name := range Keys() {
		if x, err := strconv.ParseFloat(record[i], 64); err == nil && i > 1 {
			out[name] = x
		} else if record[i] != "" {
			out[name] = record[i]
		} else {
			out[name] = nil
		}
	}
	return out
}
