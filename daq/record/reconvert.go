package record

import (
	"fmt"
	"math"
	"slices"
	"time"

	"holdbench/analysis/series"
	"holdbench/daq"
)

// Reconverter makes recorded readings anew from their raw numbers; a
// bench.Converter is one. Channels are indices in Meta.Channels.
type Reconverter interface {
	Channels(instrument string) []int
	Reconvert(instrument string, at time.Duration, readings []daq.Reading)
}

// Reconverted returns the recording as it would be with other calibrations:
// each reading is made anew from its raw number by both, was and is. Where they
// agree, what was recorded stands, bit for bit; where not, what is says. A
// reading that was not valid stays so, because its instrument may have said
// more of its health than was recorded. The recording itself is unchanged.
// Errors are those of Raw, and channels that are not those of the recording.
func (r *Recording) Reconverted(was, is Reconverter) (*Recording, error) {
	raw, err := r.Raw()
	if err != nil {
		return nil, err
	}
	again := *r
	again.series = series.Series{Columns: slices.Clone(r.series.Columns)}
	for i := range again.series.Columns {
		c := &again.series.Columns[i]
		c.Value = slices.Clone(c.Value)
	}
	for _, row := range r.inTime() {
		instrument := r.columns.instruments[row.instrument]
		channels := is.Channels(instrument)
		before, after := make([]daq.Reading, len(channels)), make([]daq.Reading, len(channels))
		for k, ch := range channels {
			if ch >= len(r.Meta.Channels) || r.Meta.Channels[ch].Instrument != instrument {
				return nil, fmt.Errorf("recording: instrument %q has other channels on this bench", instrument)
			}
			before[k] = r.recorded(raw, ch, row.index)
		}
		copy(after, before)
		was.Reconvert(instrument, row.at, before)
		is.Reconvert(instrument, row.at, after)
		for k, ch := range channels {
			value := &again.series.Columns[ch].Value[row.index]
			if math.IsNaN(*value) || same(before[k], after[k]) {
				continue
			}
			*value = math.NaN()
			if after[k].Health == daq.Healthy {
				*value = after[k].Value
			}
		}
	}
	return &again, nil
}

// same says whether two conversions of one signal agree.
func same(a, b daq.Reading) bool {
	return a.Value == b.Value || math.IsNaN(a.Value) && math.IsNaN(b.Value)
}

// recorded is one reading as it stands in the recording.
func (r *Recording) recorded(raw series.Series, channel, index int) daq.Reading {
	reading := daq.Reading{Channel: channel, Raw: math.NaN(), Value: r.series.Columns[channel].Value[index]}
	if r.Meta.Channels[channel].Converted {
		reading.Raw = raw.Columns[channel].Value[index]
	}
	if math.IsNaN(reading.Value) {
		reading.Health = daq.Missing
	}
	return reading
}

// place is one row of readings.csv.
type place struct {
	at                time.Duration
	instrument, index int
}

// inTime are the rows that the series has, of all instruments, in their order
// in time.
func (r *Recording) inTime() (rows []place) {
	first := make([]int, len(r.columns.instruments))
	for i := range first {
		first[i] = slices.Index(r.columns.instrument, i)
	}
	for i, ch := range first {
		for k, t := range r.series.Columns[ch].Time {
			rows = append(rows, place{at: time.Duration(math.Round(t * float64(time.Second))), instrument: i, index: k})
		}
	}
	slices.SortStableFunc(rows, func(a, b place) int { return int(a.at - b.at) })
	return rows
}
