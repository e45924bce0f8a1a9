package report

import (
	"bytes"
	"compress/zlib"
	"image/png"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"
	"unicode/utf16"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func pdfOf(t *testing.T, f Facts) []byte {
	t.Helper()
	var b bytes.Buffer
	require.NoError(t, WritePDF(&b, Compose(f), MetaOf(f.Result)))
	return b.Bytes()
}

func TestSameFactsGiveTheSameBytes(t *testing.T) {
	for _, c := range pageCases[:5] {
		first, second := pdfOf(t, c.facts()), pdfOf(t, c.facts())
		assert.True(t, bytes.Equal(first, second), c.name)
	}
	f := exampleFacts()
	f.Result.Operator = "N. N."
	assert.False(t, bytes.Equal(pdfOf(t, exampleFacts()), pdfOf(t, f)), "another operator, other bytes")
}

func TestMetadataComesFromTheResult(t *testing.T) {
	r := exampleResult()
	m := MetaOf(r)
	assert.Equal(t, "Hold test HV1-2026-00417: PASS", m.Title)
	assert.Equal(t, r.Assessment.At, m.Created)
	r.Assessment.At = time.Time{}
	assert.Equal(t, r.Ended, MetaOf(r).Created)
	doc := pdfOf(t, exampleFacts())
	has(t, string(doc), "/CreationDate (D:20261125131309)") // UTC
	has(t, string(doc), string(utf16BE("HV1-2026-00417: PASS")))
}

// utf16BE is text as a PDF holds it.
func utf16BE(s string) (b []byte) {
	for _, u := range utf16.Encode([]rune(s)) {
		b = append(b, byte(u>>8), byte(u))
	}
	return b
}

var shown16 = regexp.MustCompile(`(?s)\((.*?[^\\])\) Tj`)

// textOf returns the texts that a document shows, run by run.
func textOf(doc []byte) string {
	unescape := strings.NewReplacer(`\\`, `\`, `\(`, `(`, `\)`, `)`, `\r`, "\r")
	var b strings.Builder
	for _, m := range shown16.FindAllStringSubmatch(string(streams(doc)), -1) {
		raw := unescape.Replace(m[1])
		var units []uint16
		for i := 0; i+1 < len(raw); i += 2 {
			units = append(units, uint16(raw[i])<<8|uint16(raw[i+1]))
		}
		b.WriteString(string(utf16.Decode(units)))
	}
	return b.String()
}

var stream = regexp.MustCompile(`(?s)stream\n(.*?)\nendstream`)

// streams returns the document's streams, inflated where they are deflated.
func streams(doc []byte) (all []byte) {
	for _, m := range stream.FindAllSubmatch(doc, -1) {
		r, err := zlib.NewReader(bytes.NewReader(m[1]))
		if err != nil {
			continue
		}
		text, _ := io.ReadAll(r)
		all = append(all, text...)
	}
	return all
}

func TestTextsStayUnicodeAndFontsAreEmbedded(t *testing.T) {
	doc := pdfOf(t, scriptFacts())
	text := textOf(doc)
	for _, want := range []string{"Γιώργος Παπαδόπουλος", "± 2", "5 µV", "[°C]", "Клапан удержания"} {
		has(t, text, want)
	}
	assert.Equal(t, 2, bytes.Count(doc, []byte("/FontFile2 ")), "both faces")
	assert.False(t, bytes.Contains(doc, []byte("/Subtype /Image")), "vectors, no pictures")
}

func TestOtherProgramsReadTheDocument(t *testing.T) {
	for _, tool := range []string{"qpdf", "pdftotext"} {
		if _, err := exec.LookPath(tool); err != nil {
			t.Skipf("no %s here; .ci/run has it", tool)
		}
	}
	file := filepath.Join(t.TempDir(), "page.pdf")
	require.NoError(t, os.WriteFile(file, pdfOf(t, scriptFacts()), 0o600))
	out, err := exec.Command("qpdf", "--check", file).CombinedOutput()
	require.NoError(t, err, string(out))
	out, err = exec.Command("pdftotext", file, "-").Output()
	require.NoError(t, err)
	for _, want := range []string{"°C", "±", "µ", "Γιώργος Παπαδόπουλος", "Клапан удержания", "Łódź", "PASS", "bar/min"} {
		has(t, string(out), want)
	}
}

func TestPictureHasItsPapersSizeAt200DotsPerInch(t *testing.T) {
	for _, row := range []struct {
		paper         Paper
		width, height int
	}{
		{A4, 1654, 2339},     // M ISO 216: 210 mm × 297 mm
		{Letter, 1700, 2200}, // M ANSI/ASME Y14.1, size A: 8.5 in × 11 in
	} {
		f := exampleFacts()
		f.Paper = row.paper
		var b bytes.Buffer
		require.NoError(t, WritePNG(&b, Compose(f)[0]))
		picture, err := png.Decode(&b)
		require.NoError(t, err)
		assert.Equal(t, row.width, picture.Bounds().Dx(), row.paper.Name)
		assert.Equal(t, row.height, picture.Bounds().Dy(), row.paper.Name)
	}
}
