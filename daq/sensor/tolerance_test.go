package sensor_test

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"holdbench/daq/sensor"
)

// V: IEC 60584-1 classes 1, 2, 3 as a public table has them: each row at both
// ends and between.
func TestThermocoupleClasses(t *testing.T) {
	for _, row := range rows(t, "thermocouple/tolerance-classes.csv") {
		for _, letter := range strings.Fields(row["types"]) {
			c, ok := sensor.ClassOf(letter, row["class"])
			require.True(t, ok, row)
			assert.Equal(t, "IEC 60584-1", c.Standard)
			low, high := number(t, row["t_min_C"]), number(t, row["t_max_C"])
			for _, at := range []float64{low + 1e-3, (low + high) / 2, high - 1e-3} {
				var want float64
				switch {
				case row["formula"] == "1+0.003(t-1100)":
					want = 1 + 0.003*(at-1100)
				case row["b"] != "":
					want = number(t, row["b"]) * math.Abs(at)
				default:
					want = number(t, row["a_C"])
				}
				assert.InDelta(t, want, c.Limit(at+zeroCelsius), 1e-9, "%s at %g °C", row, at)
			}
		}
	}
	c, _ := sensor.ClassOf("K", "1")
	low, high := c.Range()
	assert.InDelta(t, -40, low-zeroCelsius, 1e-9)
	assert.InDelta(t, 1000, high-zeroCelsius, 1e-9)
	assert.True(t, math.IsNaN(c.Limit(1001+zeroCelsius)))
	_, ok := sensor.ClassOf("B", "1")
	assert.False(t, ok)
	assert.Equal(t, []string{"2", "3"}, sensor.Classes("B"))
}

// IEC 60751: formulas V in public copies, but class C, and the ranges, M.
func TestPlatinumClasses(t *testing.T) {
	for _, row := range rows(t, "rtd/tolerance-classes.csv") {
		for name, ends := range map[string][2]string{
			row["class"]:                  {"film_min_C", "film_max_C"},
			row["film_designation"]:       {"film_min_C", "film_max_C"},
			row["wire_wound_designation"]: {"wire_wound_min_C", "wire_wound_max_C"},
		} {
			c, ok := sensor.ClassOf("Pt1000", name)
			require.True(t, ok, name)
			low, high := c.Range()
			assert.InDelta(t, number(t, row[ends[0]]), low-zeroCelsius, 1e-9, name)
			assert.InDelta(t, number(t, row[ends[1]]), high-zeroCelsius, 1e-9, name)
			for _, at := range []float64{low, zeroCelsius, 310, high} {
				want := number(t, row["a_C"]) + number(t, row["b"])*math.Abs(at-zeroCelsius)
				assert.InDelta(t, want, c.Limit(at), 1e-9, name)
			}
		}
	}
}

// V: permissible deviations as printed in IEC 751 (1995); in ohm they are those
// in kelvin times the slope of the function.
func TestPrintedDeviations(t *testing.T) {
	s := platinum(t, "Pt100")
	for _, row := range rows(t, "rtd/tolerance-check.csv") {
		at := number(t, row["t_C"]) + zeroCelsius
		for class, wound := range map[string]string{"A": "W 0.15", "B": "W 0.3"} {
			printed := row["class_"+class+"_C"]
			c, _ := sensor.ClassOf("Pt100", wound)
			if low, high := c.Range(); printed == "" || at < low || at > high {
				continue
			}
			assert.InDelta(t, number(t, printed), c.Limit(at), half(printed), "class %s at %s °C", class, row["t_C"])
			ohm := row["class_"+class+"_ohm"]
			slope := (s.Resistance(at+0.01) - s.Resistance(at-0.01)) / 0.02
			assert.InDelta(t, number(t, ohm), c.Limit(at)*slope, half(ohm)+0.002, "class %s at %s °C", class, row["t_C"])
		}
	}
}

// law: no straight line within the limits of error over the class's range is
// steeper than Slope, and one is as steep but for a millionth.
func TestSlopeIsThatOfTheSteepestLine(t *testing.T) {
	for _, of := range [][2]string{{"K", "1"}, {"K", "2"}, {"T", "1"}, {"T", "3"}, {"R", "1"}, {"B", "3"}, {"Pt100", "A"}, {"Pt100", "W 0.3"}} {
		c, ok := sensor.ClassOf(of[0], of[1])
		require.True(t, ok, of)
		low, high := c.Range()
		// how far a line of that slope must stand away from zero, best laid
		room := func(slope float64) float64 {
			least, most := math.Inf(1), math.Inf(-1) // of the offset
			for k := range 2001 {
				at := low + (high-low)*float64(k)/2000
				most = max(most, -c.Limit(at)-slope*at)
				least = min(least, c.Limit(at)-slope*at)
			}
			return least - most
		}
		assert.GreaterOrEqual(t, room(c.Slope()*(1-1e-6)), 0.0, of)
		assert.Less(t, room(c.Slope()*(1+1e-2)), 0.0, of)
	}
	rapid.Check(t, func(r *rapid.T) {
		c, _ := sensor.ClassOf("K", rapid.SampledFrom(sensor.Classes("K")).Draw(r, "class"))
		low, high := c.Range()
		a := rapid.Float64Range(low, high).Draw(r, "a")
		b := rapid.Float64Range(low, high).Draw(r, "b")
		if a < b {
			require.LessOrEqual(r, c.Slope(), (c.Limit(a)+c.Limit(b))/(b-a)*(1+1e-9))
		}
	})
}
