package fluid

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"
)

// rows reads a file of published figures: a map from column to text a row.
func rows(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "fluids", name))
	require.NoError(t, err)
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	require.NoError(t, err)
	require.Greater(t, len(all), 1, name)
	var out []map[string]string
	for _, row := range all[1:] {
		m := map[string]string{}
		for i, h := range all[0] {
			m[h] = row[i]
		}
		out = append(out, m)
	}
	return out
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	require.NoError(t, err)
	return x
}

// exactly is a liquid of which everything is as good as known.
func exactly(density, expansion, modulus, heat float64) Liquid {
	p := func(x float64) Parameter { return Parameter{Value: x, U: 1e-12 * x, Source: "the publication's"} }
	l := FromFigures(Given{
		Name: "test liquid", Reference: Celsius(20), Range: Range{0, 1e9, 1, 1000},
		Density: p(density), Expansion: p(expansion), BulkModulus: p(modulus), SpecificHeat: p(heat),
		Temperatures: [2]float64{Celsius(40), Celsius(100)}, Viscosities: [2]Parameter{p(32e-6), p(5.4e-6)},
	})
	// Constant in pressure and temperature, as the publications take it.
	l.Parameters[plainSoftening].Value, l.Parameters[plainSoftening].U = 0, 0
	l.Parameters[plainStiffening].Value, l.Parameters[plainStiffening].U = 1e-9, 0
	return l
}

// rigid is a volume of a liquid in something that gives nothing.
func rigid(l Liquid, volume float64) Volume {
	return Volume{
		Liquid: l, Trapped: Parameter{"trapped volume", volume, volume * 1e-9, "made"}, Air: Parameter{Name: "air"},
		Body: Material{Name: "nothing", Young: Parameter{Value: 1e30}},
	}
}

// crane is a volume as benches have them, of invented measures.
func crane(l Liquid) Volume {
	steel, _ := LookupMaterial("steel")
	return Volume{
		Liquid: l, Trapped: Parameter{"trapped volume", 60e-6, 2e-6, "made"}, Air: Parameter{"air", 0.004, 0.002, "made"}, Body: steel,
		Tubes: []Tube{{
			Material: steel, Ends: EndsFree, Outside: Parameter{"tube: outside", 6e-3, 0.05e-3, "made"},
			Wall: Parameter{"tube: wall", 1e-3, 0.05e-3, "made"}, Length: Parameter{"tube: length", 1.5, 0.02, "made"},
		}},
		Hoses: []Hose{{
			Length: Parameter{"hose: length", 0.5, 0.01, "made"}, Bore: Parameter{"hose: bore", 3.2e-3, 0.1e-3, "made"},
			Expansion: Parameter{"hose: expansion", 0.9e-6, 0.2e-6, "made"}, At: 69e5,
		}},
	}
}

// at100bar is where holds are made.
var at100bar = State{PressureAbs: 101e5, Temperature: Celsius(22)}
