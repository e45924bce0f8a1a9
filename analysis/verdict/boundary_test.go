package verdict

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// halfDigit is half the last digit of a figure as printed.
func halfDigit(text string) float64 {
	_, decimals, _ := strings.Cut(text, ".")
	return 0.5000001 * math.Pow(10, -float64(len(decimals)))
}

func printed(t *testing.T, want string, got float64, src string) {
	t.Helper()
	x, err := strconv.ParseFloat(want, 64)
	require.NoError(t, err)
	require.InDelta(t, x, got, halfDigit(want), src)
}

// evenly returns 1/n, …, 1.
func evenly(n int) []float64 {
	var out []float64
	for k := 1; k <= n; k++ {
		out = append(out, float64(k)/float64(n))
	}
	return out
}

func TestBoundariesAsPublished(t *testing.T) {
	cubes := func(times ...float64) []float64 {
		var out []float64
		for _, f := range times {
			out = append(out, f*f*f)
		}
		return out
	}
	for _, row := range []struct {
		spending    Spending
		information []float64
		want        string
		src         string
	}{
		// The published figures come from a coarser integration: they differ by
		// up to 4e-5 from what finer and finer grids go to, 2.016070 and 1.720177.
		{OBrienFlemingLike, evenly(4), "3.7496 2.5399 2.0161 1.7202", "C one-sided 0.05; V published as 3.74955 2.53993 2.01604 1.72014"},
		{PocockLike, evenly(4), "2.0999 2.0767 2.0532 2.0348", "C one-sided 0.05"},
		{OBrienFlemingLike, evenly(5), "4.2292 2.8881 2.2981 1.9618 1.7397", "C one-sided 0.05"},
		{OBrienFlemingLike, cubes(.5, .75, 1), "5.4210 2.8009 1.6529", "C looks at a slope, information t³"},
		{PocockLike, cubes(.5, .75, 1), "2.3367 2.0563 1.8759", "C looks at a slope, information t³"},
		{OBrienFlemingLike, cubes(.6, .8, 1), "4.0581 2.5033 1.6639", "C looks at a slope, information t³"},
		{PocockLike, cubes(.6, .8, 1), "2.1499 2.0441 1.9174", "C looks at a slope, information t³"},
	} {
		var spent []float64
		for _, f := range row.information {
			spent = append(spent, row.spending.Spent(0.05, f))
		}
		got := Boundaries(spent, row.information)
		for k, want := range strings.Fields(row.want) {
			printed(t, want, got[k], fmt.Sprintf("%v look %d: %s", row.spending, k+1, row.src))
		}
	}
}

// bothSides are the boundaries ±c at which a two-sided risk is spent.
func bothSides(spent, information []float64) []float64 {
	var out []float64
	w, last := start(), 0.0
	for k := range spent {
		if k > 0 {
			w.grow(information[k-1] / information[k])
		}
		c := w.boundary((spent[k] - last) / 2) // the walk is symmetric
		w.cut(-c, c)
		out, last = append(out, c), spent[k]
	}
	return out
}

func TestTwoSidedBoundariesAsPublished(t *testing.T) {
	for _, row := range []struct {
		spending  Spending
		want, src string
	}{
		{OBrienFlemingLike, "4.8769 3.3570 2.6803 2.2898 2.0310", "C Lan–DeMets, two-sided 0.05; papers print 3.3569"},
		{PocockLike, "2.4380 2.4268 2.4102 2.3966 2.3860", "C Lan–DeMets, two-sided 0.05"},
	} {
		var spent []float64
		for _, f := range evenly(5) {
			// two-sided by its own: half the risk on each side
			spent = append(spent, 2*row.spending.Spent(0.025, f))
		}
		got := bothSides(spent, evenly(5))
		for k, want := range strings.Fields(row.want) {
			printed(t, want, got[k], row.src)
		}
	}
}

// crossed is the chance that a walk with boundaries c crosses one of them; on
// both sides where two is true.
func crossed(c, information []float64, two bool) float64 {
	w, sum := start(), 0.0
	for k := range c {
		if k > 0 {
			w.grow(information[k-1] / information[k])
		}
		p, _ := w.above(c[k])
		low := math.Inf(-1)
		if two {
			low, p = -c[k], 2*p
		}
		sum += p
		w.cut(low, c[k])
	}
	return sum
}

// constant is the classic design's: c_k = C·(K/k)^power.
func constant(looks int, power, risk float64, two bool) float64 {
	low, high := 1.0, 4.0
	for high-low > 1e-7 {
		c := (low + high) / 2
		bounds := make([]float64, looks)
		for k := range bounds {
			bounds[k] = c * math.Pow(float64(looks)/float64(k+1), power)
		}
		if crossed(bounds, evenly(looks), two) > risk {
			low = c
		} else {
			high = c
		}
	}
	return (low + high) / 2
}

// Pocock, S. J., Biometrika 64 (1977) 191; O'Brien, P. C. and Fleming, T. R.,
// Biometrics 35 (1979) 549; as tabled by Jennison and Turnbull, Group
// Sequential Methods, 2000 (mark C, agree with the tables from memory).
func TestClassicConstants(t *testing.T) {
	looks := []int{2, 3, 4, 5, 6, 8, 10}
	for _, row := range []struct {
		name  string
		power float64
		risk  float64
		two   bool
		want  string
	}{
		{"Pocock, two-sided 0.05", 0, 0.05, true, "2.178 2.289 2.361 2.413 2.453 2.512 2.555"},
		{"O'Brien–Fleming, two-sided 0.05", 0.5, 0.05, true, "1.977 2.004 2.024 2.040 2.053 2.072 2.087"},
		{"Pocock, one-sided 0.05", 0, 0.05, false, "1.875 1.992 2.067 2.122"},
		{"O'Brien–Fleming, one-sided 0.05", 0.5, 0.05, false, "1.678 1.710 1.733 1.751"},
	} {
		for i, want := range strings.Fields(row.want) {
			printed(t, want, constant(looks[i], row.power, row.risk, row.two), fmt.Sprintf("%s, %d looks", row.name, looks[i]))
		}
	}
}

func TestSpentAsPublished(t *testing.T) {
	// cumulative, one-sided 0.05 in four looks (mark C)
	for k, want := range []float64{8.8575e-5, .0055746, .0236251, .05} {
		require.InEpsilon(t, want, OBrienFlemingLike.Spent(0.05, evenly(4)[k]), 1e-4)
	}
	for _, s := range []Spending{PocockLike, OBrienFlemingLike} {
		require.Zero(t, s.Spent(0.05, 0))
		require.Equal(t, 0.05, s.Spent(0.05, 1))
		require.True(t, math.IsNaN(s.Spent(0.05, math.NaN())))
		require.True(t, math.IsNaN(s.Spent(0, 0.5)))
		require.Equal(t, Spendings[s], s.String())
	}
	require.Equal(t, "Spending(2)", Spending(2).String())
}

func TestBoundariesOfOddArguments(t *testing.T) {
	for _, bad := range [][2][]float64{
		{{0.01, 0.005}, {1, 2}}, {{0.01, math.NaN()}, {1, 2}}, {{0.01}, {0}}, {{0.01}, {1, 2}}, {{0.01}, {math.Inf(1)}}, {{1}, {1}},
	} {
		for _, c := range Boundaries(bad[0], bad[1]) {
			require.True(t, math.IsNaN(c))
		}
	}
	require.Empty(t, Boundaries(nil, nil))

	got := Boundaries([]float64{0, 0.02, 0.02, 0.05}, []float64{1, 2, 2, 1.5})
	require.True(t, math.IsInf(got[0], 1), "nothing spent, nothing decided")
	require.InDelta(t, 2.0537, got[1], 1e-3, "as if there had been no look before")
	require.True(t, math.IsInf(got[2], 1))
	require.Less(t, got[3], got[1], "what is left may be used although nothing was learned")
	require.Greater(t, got[3], 1.6)
}
