package fit

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/montanaflynn/stats"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// Data and certified values: NIST StRD, mark V; see testdata/README.md.
const strd = "../../testdata/nist-strd"

// linearSets says how many digits each set must give for coefficients, their
// standard deviations and the residual standard deviation. Fifteen digits are
// certified, and a double holds fewer than sixteen.
var linearSets = []struct {
	name                  string
	degree                int // of the polynomial; 0: columns as in the file
	intercept             bool
	coefficients, sd, rsd float64
	why                   string // where binary does not allow some 13
}{
	{name: "Norris", degree: 1, intercept: true, coefficients: 13, sd: 13, rsd: 13},
	{name: "Pontius", degree: 2, intercept: true, coefficients: 12.5, sd: 13, rsd: 13},
	{name: "NoInt1", coefficients: 14, sd: 14, rsd: 14},
	{name: "NoInt2", coefficients: 14, sd: 14, rsd: 14},
	{name: "Filip", degree: 10, intercept: true, coefficients: 7, sd: 7, rsd: 8,
		why: "(tenth powers are rounded to a double before any fit)"},
	{name: "Longley", intercept: true, coefficients: 13, sd: 12, rsd: 14},
	{name: "Wampler1", degree: 5, intercept: true, coefficients: 14, sd: 14, rsd: 14},
	{name: "Wampler2", degree: 5, intercept: true, coefficients: 12, sd: 12, rsd: 12},
	{name: "Wampler3", degree: 5, intercept: true, coefficients: 14, sd: 12.5, rsd: 14},
	{name: "Wampler4", degree: 5, intercept: true, coefficients: 14, sd: 12.5, rsd: 14},
	{name: "Wampler5", degree: 5, intercept: true, coefficients: 14, sd: 12.5, rsd: 14},
}

func TestLinearSetsAgreeWithCertifiedDigits(t *testing.T) {
	certified := rows(t, "linear/certified.csv")
	for _, set := range linearSets {
		t.Run(set.name, func(t *testing.T) {
			table := rows(t, "linear/"+set.name+".csv")
			x, y := design(t, table, set.degree, set.intercept)
			l, err := LeastSquares(x, y)
			require.NoError(t, err)

			worst, worstSD, worstRSD := 15.0, 15.0, 15.0
			found := 0
			for _, c := range certified {
				if c["dataset"] != set.name {
					continue
				}
				worst = min(worst, digits(l.Coefficients[found], number(t, c["certified"])))
				worstSD = min(worstSD, digits(l.StdUncertainty(found), number(t, c["certified_sd"])))
				worstRSD = min(worstRSD, digits(l.ResidualStd, number(t, c["rsd"])))
				assert.Equal(t, c["residual_dof"], strconv.Itoa(l.DegreesOfFreedom))
				found++
			}
			require.Len(t, l.Coefficients, found)
			t.Logf("%-8s digits: coefficients %.1f, standard deviations %.1f, residual standard deviation %.1f %s",
				set.name, worst, worstSD, worstRSD, set.why)
			assert.GreaterOrEqual(t, worst, set.coefficients, "coefficients")
			assert.GreaterOrEqual(t, worstSD, set.sd, "standard deviations")
			assert.GreaterOrEqual(t, worstRSD, set.rsd, "residual standard deviation")
		})
	}
}

func TestLineAgreesWithNorris(t *testing.T) {
	x, y := design(t, rows(t, "linear/Norris.csv"), 1, true)
	l, err := Line(mat.Col(nil, 1, x), y)
	require.NoError(t, err)
	for _, c := range rows(t, "linear/certified.csv")[:2] {
		require.Equal(t, "Norris", c["dataset"])
		i := int(c["parameter"][1] - '0')
		assert.InEpsilon(t, number(t, c["certified"]), l.Coefficients[i], 1e-12)
		assert.InEpsilon(t, number(t, c["certified_sd"]), l.StdUncertainty(i), 1e-12)
		assert.InEpsilon(t, number(t, c["rsd"]), l.ResidualStd, 1e-12)
		t.Logf("Norris %s digits: coefficient %.1f, standard deviation %.1f", c["parameter"],
			digits(l.Coefficients[i], number(t, c["certified"])), digits(l.StdUncertainty(i), number(t, c["certified_sd"])))
	}
}

// univariateSets must give 9 digits of mean, standard deviation and lag-1
// autocorrelation; NumAcc4 alone loses more when its data become binary.
var univariateSets = []struct {
	name           string
	mean, sd, auto float64
}{
	{name: "Lew", mean: 14, sd: 13, auto: 13},
	{name: "Lottery", mean: 14, sd: 13, auto: 13},
	{name: "Mavro", mean: 14, sd: 12, auto: 12},
	{name: "Michelso", mean: 14, sd: 12, auto: 12},
	{name: "NumAcc1", mean: 14, sd: 14, auto: 14},
	{name: "NumAcc2", mean: 13, sd: 13, auto: 13},
	{name: "NumAcc3", mean: 14, sd: 9, auto: 10},
	{name: "NumAcc4", mean: 13, sd: 8, auto: 8.5},
	{name: "PiDigits", mean: 14, sd: 14, auto: 12},
}

func TestUnivariateSetsAgreeWithCertifiedDigits(t *testing.T) {
	certified := map[string]map[string]string{}
	for _, c := range rows(t, "univariate/certified.csv") {
		certified[c["dataset"]] = c
	}
	for _, set := range univariateSets {
		t.Run(set.name, func(t *testing.T) {
			if set.name != "NumAcc4" {
				require.GreaterOrEqual(t, min(set.mean, set.sd, set.auto), 9.0, "the least that is asked of a set")
			}
			var y []float64
			for _, r := range rows(t, "univariate/"+set.name+".csv") {
				y = append(y, number(t, r["y"]))
			}
			c := certified[set.name]
			require.Equal(t, c["n"], strconv.Itoa(len(y)))
			m, err := stats.Mean(y)
			require.NoError(t, err)
			sd, err := stats.StandardDeviationSample(y) // StandardDeviation is the population one
			require.NoError(t, err)
			auto, err := stats.AutoCorrelation(y, 1)
			require.NoError(t, err)

			dm, dsd := digits(m, number(t, c["mean"])), digits(sd, number(t, c["sd"]))
			da, ours := digits(auto, number(t, c["lag1_autocorrelation"])), digits(Lag1(y), number(t, c["lag1_autocorrelation"]))
			t.Logf("%-8s digits: mean %.1f, standard deviation %.1f, autocorrelation %.1f, Lag1 %.1f", set.name, dm, dsd, da, ours)
			assert.GreaterOrEqual(t, dm, set.mean, "mean")
			assert.GreaterOrEqual(t, dsd, set.sd, "standard deviation")
			assert.GreaterOrEqual(t, da, set.auto, "autocorrelation")
			assert.GreaterOrEqual(t, ours, 13.0, "Lag1")
		})
	}
}

// digits counts the leading digits on which got and the certified value
// agree, −log10 of the relative error (of the error itself where the value is
// 0), 15 at most.
func digits(got, certified float64) float64 {
	wrong := math.Abs(got - certified)
	if certified != 0 {
		wrong /= math.Abs(certified)
	}
	return min(15, -math.Log10(wrong))
}

// rows reads a CSV under comment lines as one map a row.
func rows(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join(strd, filepath.FromSlash(name)))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	records, err := r.ReadAll()
	require.NoError(t, err)
	var table []map[string]string
	for _, record := range records[1:] {
		row := map[string]string{}
		for i, field := range record {
			row[records[0][i]] = field
		}
		table = append(table, row)
	}
	return table
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return x
}

// design builds X and y from a set: an intercept, then the powers of x, or
// the columns x1, x2, … (or x) as they stand.
func design(t *testing.T, table []map[string]string, degree int, intercept bool) (*mat.Dense, []float64) {
	t.Helper()
	var data, y []float64
	for _, row := range table {
		if intercept {
			data = append(data, 1)
		}
		switch {
		case degree > 0:
			power := 1.0
			for range degree {
				power *= number(t, row["x"])
				data = append(data, power)
			}
		case row["x"] != "":
			data = append(data, number(t, row["x"]))
		default:
			for i := 1; row["x"+strconv.Itoa(i)] != ""; i++ {
				data = append(data, number(t, row["x"+strconv.Itoa(i)]))
			}
		}
		y = append(y, number(t, row["y"]))
	}
	return mat.NewDense(len(y), len(data)/len(y), data), y
}
