package report

import (
	"bytes"
	"io"
	"testing"
)

// BenchmarkPDFAndPNG is the whole way from facts to both files; it has to
// stay under 0.3 s.
func BenchmarkPDFAndPNG(b *testing.B) {
	f := exampleFacts()
	var pdf, png bytes.Buffer
	for b.Loop() {
		pdf.Reset()
		png.Reset()
		pages := Compose(f)
		if err := WritePDF(&pdf, pages, MetaOf(f.Result)); err != nil {
			b.Fatal(err)
		}
		if err := WritePNG(&png, pages[0]); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(pdf.Len())/1000, "kB/PDF")
	b.ReportMetric(float64(png.Len())/1000, "kB/PNG")
}

func BenchmarkCompose(b *testing.B) {
	f := exampleFacts()
	for b.Loop() {
		Compose(f)
	}
}

func BenchmarkPDF(b *testing.B) {
	f := exampleFacts()
	pages := Compose(f)
	for b.Loop() {
		if err := WritePDF(io.Discard, pages, MetaOf(f.Result)); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkPageSetPDF is a unit's whole set with its files attached, from
// facts to bytes; it has to stay under 0.3 s.
func BenchmarkPageSetPDF(b *testing.B) {
	f := exampleFacts()
	var pdf bytes.Buffer
	for b.Loop() {
		pdf.Reset()
		if err := DocumentOf(f).WritePDF(&pdf); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(pdf.Len())/1000, "kB/PDF")
}

// BenchmarkLotPDF is a lot of two hundred units.
func BenchmarkLotPDF(b *testing.B) {
	l := exampleLot()
	for len(l.Rows) < 200 {
		l.Rows = append(l.Rows, l.Rows...)
	}
	l.Rows = l.Rows[:200]
	for b.Loop() {
		if err := LotDocument(l).WritePDF(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}

// dayFacts are a hold of 24 h at 10 Hz: 864,000 readings.
func dayFacts() Facts {
	f := exampleFacts()
	const n = 864_000
	a := &f.Assessments[0]
	a.Start, a.End = 0, n/10
	curves := a.Curves
	a.Curves.Time, a.Curves.Measured, a.Curves.Compensated = make([]float64, n), make([]float64, n), make([]float64, n)
	a.Curves.Fitted, a.Curves.LiquidTemperature, a.Curves.LiquidTemperatureU = make([]float64, n), make([]float64, n), make([]float64, n)
	for i := range n {
		k := i % len(curves.Time)
		a.Curves.Time[i], a.Curves.Measured[i], a.Curves.Compensated[i] = float64(i)/10, curves.Measured[k], curves.Compensated[k]
		a.Curves.Fitted[i], a.Curves.LiquidTemperature[i], a.Curves.LiquidTemperatureU[i] = curves.Fitted[k], curves.LiquidTemperature[k], 0.01
	}
	r := &f.Recorded[0]
	r.Trapped.Time, r.Trapped.Value = a.Curves.Time, a.Curves.Measured
	r.Temperature.Time, r.Temperature.Value = a.Curves.Time, a.Curves.LiquidTemperature
	f.Phases = nil
	return f
}

// BenchmarkDay is the summary of a day at 10 Hz, as PDF.
func BenchmarkDay(b *testing.B) {
	f := dayFacts()
	b.ReportAllocs()
	for b.Loop() {
		if err := WritePDF(io.Discard, Compose(f), MetaOf(f.Result)); err != nil {
			b.Fatal(err)
		}
	}
}
