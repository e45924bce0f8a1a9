package si

import (
	"encoding/csv"
	"os"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Factors as exact fractions to 20 digits, and worked pressures to 12, from
// the definitions behind NIST SP 811 (2008) appendix B: mark C; see
// testdata/README.md.
const published = "../../testdata/units/"

func TestFactorsAgreeWithSP811(t *testing.T) {
	quantityOf := map[string]Quantity{
		"Pa": PressureChange, "m3": Volume, "m3/s": VolumeFlow, "K": TemperatureDifference,
	}
	table := readCSV(t, published+"factors.csv")
	require.Greater(t, len(table), 20)
	for _, row := range table[1:] {
		unit, want := row[0], parse(t, row[3])
		if unit == "degF_interval" {
			unit = "degF"
		}
		u, err := ParseUnit(unit, quantityOf[row[1]])
		require.NoError(t, err)
		assert.InEpsilon(t, want, u.Factor, 3e-16, unit)
		assert.Zero(t, u.Offset, unit)
		if quantityOf[row[1]] == PressureChange {
			state, err := ParseUnit(unit, Pressure)
			require.NoError(t, err)
			assert.Equal(t, u.Factor, state.Factor, unit)
		}
	}
}

func TestPressuresAgreeWithWorkedTable(t *testing.T) {
	table := readCSV(t, published+"pressure-table.csv")
	columns := map[string]string{"kgf_per_cm2": "kgf/cm²"}
	for _, row := range table[1:] {
		pa, err := Parse(row[0]+" psi", Pressure)
		require.NoError(t, err)
		for i, name := range table[0] {
			if written, ok := columns[name]; ok {
				name = written
			}
			u, err := ParseUnit(name, Pressure)
			require.NoError(t, err)
			assert.InEpsilon(t, parse(t, row[i]), u.FromSI(pa), 5e-12, "%s psi in %s", row[0], name)
		}
	}
}

// The temperature scales: definitions, mark L.
func TestTemperatureScales(t *testing.T) {
	for _, row := range []struct {
		text string
		want float64 // K
	}{
		{"0 °C", 273.15}, {"100 °C", 373.15}, {"-273.15 °C", 0},
		{"32 °F", 273.15}, {"212 °F", 373.15}, {"-40 °F", 233.15}, {"-459.67 °F", 0},
		{"300 K", 300},
	} {
		got, err := Parse(row.text, Temperature)
		require.NoError(t, err, row.text)
		assert.InDelta(t, row.want, got, 1e-12*300, row.text)
	}
	same, err := ParseUnit("°C", Temperature)
	require.NoError(t, err)
	assert.InDelta(t, 25, same.FromSI(298.15), 1e-12)
}

func readCSV(t *testing.T, path string) [][]string {
	t.Helper()
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	table, err := r.ReadAll()
	require.NoError(t, err)
	return table
}

func parse(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return x
}
