package record

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"holdbench/daq"
)

// writtenEvents writes the events to a recording and reads them back.
func writtenEvents(t *testing.T, events ...daq.Event) *Recording {
	t.Helper()
	w := newRecording(t)
	for _, e := range events {
		require.NoError(t, w.Event(e))
	}
	require.NoError(t, w.Close())
	r, err := Open(w.Dir())
	require.NoError(t, err)
	require.Empty(t, r.Findings)
	return r
}

func TestIntervalsAreMergedWithTheirEnd(t *testing.T) {
	s := time.Second
	gap := daq.Event{At: 2 * s, Until: daq.Open, Kind: daq.Gap, Subject: "module", Text: "no answer"}
	other := daq.Event{At: 2 * s, Until: daq.Open, Kind: daq.Gap, Subject: "thermometer, left"}
	note := daq.Event{At: 3 * s, Kind: daq.Note, Text: "hm"}
	ended, second := gap, gap
	ended.Until = 5 * s
	second.At = 6 * s
	r := writtenEvents(t, gap, other, note, ended, note, second)

	note.Until = note.At
	require.Equal(t, []daq.Event{ended, other, note, note, second}, r.Events)
}

func TestEndOfAnIntervalMayBringItsText(t *testing.T) {
	fault := daq.Event{At: 1, Until: daq.Open, Kind: daq.Fault, Subject: "oil"}
	ended := fault
	ended.Until, ended.Text = 1, "over range"
	again := ended // the same instant, once more: not the same interval
	r := writtenEvents(t, fault, ended, again)
	require.Equal(t, []daq.Event{ended, again}, r.Events)
}

func TestEventTextsReadBack(t *testing.T) {
	for text, want := range map[string]string{
		"a,b \"c\" ;": "a,b \"c\" ;", "two\nlines": "two\nlines", "two\r\nlines": "two\nlines", "two\rlines": "two\nlines",
		" space ": " space ", `\.`: `\.`, "\n": "\n", `"`: `"`, "": "", "µ → ü": "µ → ü", "1,1,note,,,\n1,1,note,,,": "1,1,note,,,\n1,1,note,,,",
	} {
		r := writtenEvents(t, daq.Event{Kind: daq.Note, Text: text})
		require.Len(t, r.Events, 1)
		require.Equal(t, want, r.Events[0].Text)
	}
}

func TestEventLinesReadBack(t *testing.T) {
	word := rapid.StringOf(rapid.RuneFrom([]rune("ab,\"\n 1\\.é;")))
	rapid.Check(t, func(t *rapid.T) {
		e := daq.Event{
			At: time.Duration(rapid.Int64Range(0, 1e15).Draw(t, "at")), Kind: daq.EventKind("k" + word.Draw(t, "kind")),
			Circuit: word.Draw(t, "circuit"), Subject: word.Draw(t, "subject"), Text: word.Draw(t, "text"),
		}
		e.Until = e.At + time.Duration(rapid.Int64Range(0, 1e15).Draw(t, "length"))
		if rapid.Bool().Draw(t, "open") {
			e.Until = daq.Open
		}
		line, err := eventLine(e)
		require.NoError(t, err)
		found := &findings{file: eventsFile}
		require.Equal(t, []daq.Event{e}, readEvents(line, 2, found))
		require.Empty(t, found.all())
	})
}

func FuzzEvents(f *testing.F) {
	f.Add([]byte("0,0,note,,,x\r\n1,,gap,,module,\"a\r\nb\"\r\n1,2,gap,,module,\r\n"))
	f.Add([]byte("0,0,note,,,\"x\r\n1,1,note,,,y\r\n\"\"\"\r\n"))
	f.Add([]byte{0, '\n', '"', '\n', ',', ',', ',', ',', ',', '\n'})
	f.Fuzz(func(t *testing.T, text []byte) {
		found := &findings{file: eventsFile}
		var again []byte
		events := readEvents(text, 2, found)
		for _, e := range events {
			line, err := eventLine(e)
			require.NoError(t, err)
			again = append(again, line...)
		}
		clean := &findings{file: eventsFile}
		back := readEvents(again, 2, clean)
		require.Empty(t, clean.all())
		for i := range events {
			e := events[i]
			e.Kind, e.Circuit = daq.EventKind(oneBreak(string(e.Kind))), oneBreak(e.Circuit)
			e.Subject, e.Text = oneBreak(e.Subject), oneBreak(e.Text)
			events[i] = e
		}
		require.Equal(t, mergeEvents(events), back)
		if len(text) > 0 && len(events) == 0 {
			require.NotEmpty(t, found.all())
		}
	})
}
