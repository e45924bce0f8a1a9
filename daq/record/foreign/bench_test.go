package foreign

import (
	"bytes"
	"math"
	"strconv"
	"testing"
	"time"
)

// longHold writes rows at 10 Hz of a time, two pressures and a temperature, as
// loggers do; mark D.
func longHold(rows int) []byte {
	b := make([]byte, 0, rows*30)
	b = append(b, "time [s],pressure_a [bar],pressure_b [bar],temperature [degC]\n"...)
	for i := range rows {
		t := float64(i) / 10
		b = strconv.AppendFloat(b, t, 'f', 1, 64)
		b = append(b, ',')
		b = strconv.AppendFloat(b, 100-t*2e-5+0.01*math.Sin(t), 'f', 3, 64)
		b = append(b, ',')
		b = strconv.AppendFloat(b, 99-t*3e-5+0.01*math.Cos(t), 'f', 3, 64)
		b = append(b, ',')
		b = strconv.AppendFloat(b, 23+2*math.Sin(t/20000), 'f', 3, 64)
		b = append(b, '\n')
	}
	return b
}

func benchmarkRead(b *testing.B, text []byte) {
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ReadFrom("hold.csv", bytes.NewReader(text), int64(len(text)), Settings{}); err != nil {
			b.Fatal(err)
		}
	}
}

// 24 h at 10 Hz.
func BenchmarkReadDay(b *testing.B) { benchmarkRead(b, longHold(864_000)) }

// 24 h at 100 Hz: ten days at 10 Hz have as many rows.
func BenchmarkReadDayAt100Hz(b *testing.B) { benchmarkRead(b, longHold(8_640_000)) }

// 24 h at 10 Hz as other loggers write it: stamps of one second with the day
// first, decimal commas, words for no reading, quotes.
func BenchmarkReadDayOfStamps(b *testing.B) {
	rows := make([]holdRow, 864_000)
	for i := range rows {
		rows[i] = holdRow{at: time.Duration(i) * 100 * time.Millisecond}
		rows[i].reading[TrappedA], rows[i].reading[Temperature] = thousandths(100_000-i/10+i%3), thousandths(23_000+i/1000)
	}
	s := style{delimiter: ";", comma: true, lineEnd: "\r\n", fields: with(
		timeField("Zeit", stampFrom("2026-03-14 00:00:00", "02.01.2006 15:04:05")), germanFields()[0], germanFields()[2])}
	s.fields[2].gap = func(i int) string { return []string{"-", "~OL"}[i%100/99] }
	benchmarkRead(b, s.write(b, rows))
}

// 5 min at 10 Hz.
func BenchmarkReadFiveMinutes(b *testing.B) { benchmarkRead(b, longHold(3000)) }
