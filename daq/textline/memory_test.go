package textline

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// believed returns the first signals of the lines that become readings.
func believed(t testing.TB, c Config, lines ...string) ([]float64, Counts) {
	return read(t, c, "\n"+strings.Join(lines, "\n")+"\n")
}

// steady is n lines of one value.
func steady(n int, line string) []string {
	out := make([]string, n)
	for i := range out {
		out[i] = line
	}
	return out
}

func TestLinesThatLostACharacterAreDoubted(t *testing.T) {
	one := Config{Fields: columns(1)}
	two := Config{Format: Format{Separator: ";"}, Fields: columns(1, 2)}
	for name, c := range map[string]struct {
		config Config
		usual  string
		torn   []string
	}{
		"the first digit":        {one, "112.3", []string{"12.3", "2.3"}},
		"the point":              {one, "112.3", []string{"1123"}[:0]}, // another number of decimals: only stated decimals show it
		"two lines in one":       {two, "112.3;21.5", []string{"112.321.5", "112.3;21.112.3;21.5", "1112.3;21.5"}[:2]},
		"of the second number":   {two, "112.3;121.5", []string{"112.3;21.5"}},
		"filled up with zeros":   {one, "00112", []string{"0112", "112", "0011200112"}},
		"filled up, with a sign": {one, "+012.30", []string{"+12.30", "+012.3", "012.0"}},
		"exponents, filled up":   {two, "+0012.30E+00;1", []string{"+012.30E+00;1"}},
	} {
		t.Run(name, func(t *testing.T) {
			for _, torn := range c.torn {
				lines := append(steady(12, c.usual), torn, c.usual, torn, torn, c.usual)
				got, counted := believed(t, c.config, lines...)
				for _, x := range got {
					assert.Equal(t, got[0], x, torn)
				}
				assert.Equal(t, 14, counted.Lines, torn)
				assert.Equal(t, 3, counted.Garbled, torn)
			}
		})
	}
}

func TestALostSignIsDoubtedWhereAllHaveOne(t *testing.T) {
	lines := append(steady(12, "+2.50"), "-2.50", "2.50", "-2.50", "0.00", "2.5", "-2.50")
	got, counted := believed(t, Config{Fields: columns(1)}, lines...)
	assert.Equal(t, []float64{-2.5, -2.5, 0, -2.5}, got[12:])
	assert.Equal(t, 2, counted.Doubted)
	// Negative numbers alone say nothing of what positive ones look like.
	got, counted = believed(t, Config{Fields: columns(1)}, append(steady(12, "-0.01"), "0.01", "-0.01", "0.01")...)
	assert.Len(t, got, 15)
	assert.Zero(t, counted.Doubted)
}

// What is doubted is believed when it stays.
func TestAJumpIsBelievedWhenItStays(t *testing.T) {
	got, counted := believed(t, Config{Fields: columns(1)}, "100.02", "100.01", "0.03", "0.02", "0.03", "0.02")
	assert.Equal(t, []float64{100.02, 100.01, 0.03, 0.02}, got)
	assert.Equal(t, 2, counted.Doubted)
}

// No reading is lost, or chosen, by its value: noise around a power of ten,
// around zero, a range that changes by itself.
func TestNoReadingIsDoubtedForItsValue(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for name, write := range map[string]func() string{
		"around 100":             func() string { return fmt.Sprintf("%.2f", 100+0.02*random.NormFloat64()) },
		"around 1000, filled up": func() string { return fmt.Sprintf("%08.2f", 1000+0.02*random.NormFloat64()) },
		"around zero":            func() string { return fmt.Sprintf("%+.2f", 0.02*random.NormFloat64()) },
		"around zero, filled up": func() string { return fmt.Sprintf("%+07.2f", 0.02*random.NormFloat64()) },
		"filled up, sign inside": func() string { return fmt.Sprintf("%07.2f", 0.02*random.NormFloat64()) },
		"filled up, sign before": func() string { return strings.TrimSpace(fmt.Sprintf("% 08.2f", 0.02*random.NormFloat64())) },
		"counts around zero":     func() string { return fmt.Sprintf("%d", int(1000*random.NormFloat64())) },
		"five digits, any range": func() string { return fmt.Sprintf("%.6s", fmt.Sprintf("%.5f", 10+0.1*random.NormFloat64())) },
		"shortest form":          func() string { return fmt.Sprintf("%g", math.Round(10000+2*random.NormFloat64())/100) },
		"exponents":              func() string { return fmt.Sprintf("%+.4E", 0.1*random.NormFloat64()) },
		"blanks before":          func() string { return fmt.Sprintf("%9.3f", 10+0.1*random.NormFloat64()) },
	} {
		t.Run(name, func(t *testing.T) {
			var lines []string
			for range 500 {
				lines = append(lines, write())
			}
			got, counted := believed(t, Config{Fields: columns(1)}, lines...)
			assert.Len(t, got, 500)
			assert.Zero(t, counted.Garbled)
		})
	}
}

// The sign stands in the place of a digit: a vented transducer whose numbers
// were long without one is not read without its negative half.
func TestNegativeNumbersAreNoShorterThanOthers(t *testing.T) {
	lines := steady(12, "0000.01")
	for range 20 {
		lines = append(lines, "0000.02", "-000.02")
	}
	got, counted := believed(t, Config{Fields: columns(1)}, lines...)
	assert.Len(t, got, len(lines))
	assert.Zero(t, counted.Doubted)
	got, _ = believed(t, Config{Fields: columns(1)}, append(steady(12, "0112.30"), "-12.30", "112.30")...)
	assert.Len(t, got, 12, "shorter than a sign explains")
}

// A line whose characters are lost in the middle, a stretch at a time, as when
// a buffer runs over: with a fixed length nothing wrong is read; without one
// nothing that is far from the truth.
func TestStretchesLostFromAStream(t *testing.T) {
	for name, c := range map[string]struct {
		write  func(p float64) string
		config Config
		within float64
	}{
		"fixed length": {func(p float64) string { return fmt.Sprintf("%+08.2f;%+07.1f\r\n", p, 21.5) },
			Config{Format: Format{Separator: ";", Length: 16}, Fields: columns(1, 2)}, 0.02},
		"check sum": {func(p float64) string {
			return Check{Sum: sumOf(t, "crc16-modbus"), After: "*"}.Line("", fmt.Sprintf("%.2f;%.1f", p, 21.5)) + "\r\n"
		}, Config{Format: Format{Separator: ";", Check: Check{Sum: sumOf(t, "crc16-modbus"), After: "*"}}, Fields: columns(1, 2)}, 0.02},
	} {
		t.Run(name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(3, 4))
			stream, lost := "\n", 0
			for range 4000 {
				stream += c.write(112 + 0.01*random.Float64())
				if random.IntN(10) == 0 {
					k := 1 + random.IntN(12)
					at := len(stream) - random.IntN(20) - k
					stream = stream[:max(1, at)] + stream[max(1, at)+k:]
					lost++
				}
			}
			got, counted := read(t, c.config, stream)
			for _, x := range got {
				assert.InDelta(t, 112.005, x, c.within)
			}
			assert.Greater(t, len(got), 4000-3*lost)
			assert.Positive(t, counted.Garbled)
		})
	}
}
