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
