package si

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// everyUnit yields each unit of the table, and for compound quantities each
// pair.
func everyUnit(q Quantity) (symbols []string) {
	row := quantities[q]
	if !row.compound {
		for _, r := range table[q] {
			symbols = append(symbols, r.symbol)
		}
		return symbols
	}
	for _, over := range table[row.over] {
		for _, under := range table[row.under] {
			symbols = append(symbols, over.symbol+"/"+under.symbol)
		}
	}
	return symbols
}

// Law: what a unit prints, parses to the same unit; SI and back is the number.
func TestEveryUnitParsesAsItPrints(t *testing.T) {
	for _, q := range Quantities() {
		units := everyUnit(q)
		require.NotEmpty(t, units, q)
		for _, symbol := range units {
			u, err := ParseUnit(symbol, q)
			require.NoError(t, err)
			assert.Equal(t, symbol, u.Symbol)
			assert.Equal(t, q, u.Quantity)
			assert.Positive(t, u.Factor)
			assert.InDelta(t, 12.34, u.FromSI(u.ToSI(12.34)), 1e-10, symbol)
			if q != Temperature {
				assert.Zero(t, u.Offset, symbol)
			}
		}
	}
}

// Law: no spelling of a quantity means two units.
func TestNoSpellingMeansTwoUnits(t *testing.T) {
	for q, rows := range table {
		exact, folded := map[string]string{}, map[string]string{}
		for _, r := range rows {
			for _, s := range append([]string{r.symbol}, r.also...) {
				key := plain(s)
				other, taken := exact[key]
				assert.False(t, taken && other != r.symbol, "%s: %q is %s and %s", q, s, other, r.symbol)
				exact[key] = r.symbol
			}
		}
		for _, r := range rows {
			for _, s := range append([]string{r.symbol}, r.also...) {
				key := strings.ToLower(plain(s))
				if other, taken := folded[key]; taken && r.anyCase {
					assert.Equal(t, other, r.symbol, "%s: %q", q, s)
				}
				folded[key] = r.symbol
			}
		}
	}
}

// Law: every quantity has an SI unit that parses with factor 1, an example
// that parses, and a difference whose SI unit is the same.
func TestEveryQuantityIsDescribed(t *testing.T) {
	names := map[string]bool{}
	for _, q := range Quantities() {
		assert.False(t, names[q.String()], "two quantities are called %s", q)
		names[q.String()] = true
		u, err := ParseUnit(q.SI().Symbol, q)
		require.NoError(t, err)
		assert.Equal(t, q.SI(), u)
		_, err = Parse(strings.Trim(example(q), `"`), q)
		assert.NoError(t, err)
		_, std, err := ParseUncertain(strings.Trim(exampleUncertain(q), `"`), q)
		assert.NoError(t, err)
		assert.Positive(t, std)
		assert.Equal(t, q.SI().Symbol, q.Difference().SI().Symbol)
		assert.Equal(t, q.Difference(), q.Difference().Difference())
	}
	assert.Equal(t, "unknown quantity", Quantity(200).String())
}
