package foreign

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestHeadingsArePartedIntoNameAndUnit(t *testing.T) {
	for _, c := range []struct{ text, name, unit, symbol string }{
		{"p [bar]", "p", "bar", "bar"},
		{"Pressure  A (psi)", "Pressure A", "psi", "psi"},
		{"pressure_a_kPa", "pressure_a", "kPa", "kPa"},
		{"Druck / bar", "Druck", "bar", "bar"},
		{"p/MPa", "p", "MPa", "MPa"},
		{"Druck bar", "Druck", "bar", "bar"},
		{"Druck in bar", "Druck", "bar", "bar"},
		{"Pressure, kgf/cm2", "Pressure", "kgf/cm2", "kgf/cm²"},
		{"p bar abs", "p", "bar abs", "bar"},
		{"p (bar(a))", "p", "bar(a)", "bar"},
		{"p bar(g)", "p", "bar(g)", "bar"},
		{"p [psig]", "p", "psig", "psi"},
		{"Temp_C", "Temp", "C", "°C"},
		{"T (°F)", "T", "°F", "°F"},
		{"t_s", "t", "s", "s"},
		{"Time", "Time", "", ""},
		{"time_min", "time", "min", "min"},
		{"Time (sec)", "Time", "sec", "s"},
		{"bar", "", "bar", "bar"},
		{"Pressure (trapped) [bar]", "Pressure (trapped)", "bar", "bar"},
		{"Pressure (trapped)", "Pressure (trapped)", "", ""},
		{"pressure_min", "pressure_min", "", ""}, // a smallest pressure, no time
		{"pressure_a", "pressure_a", "", ""},
		{"pressure [stone]", "pressure", "stone", ""},
		{"Date/Time", "Date/Time", "", ""},
		{"P1", "P1", "", ""},
		{"A", "A", "", ""},
	} {
		h := parseHeading(c.text)
		assert.Equal(t, c.name, h.name, c.text)
		assert.Equal(t, c.unit, h.unit, c.text)
		u, _, _ := parseUnit(h.unit)
		assert.Equal(t, c.symbol, u.Symbol, c.text)
	}
}

// A header of these columns, all of them found by name; empty: none.
func TestColumnsAreFoundByTheirNames(t *testing.T) {
	for _, c := range []struct {
		header string
		want   [Roles]int // columns from 1
	}{
		{"time [s],pressure_a [bar],pressure_b [bar],temperature [degC],ambient [degC]", [Roles]int{Time: 1, TrappedA: 2, TrappedB: 3, Temperature: 4, Ambient: 5}},
		{"t [s],p [bar],x,y,z", [Roles]int{Time: 1, TrappedA: 2}},
		{"elapsed [s],feed pressure [bar],trapped pressure [bar],oil [°C],room [°C]", [Roles]int{Time: 1, Feed: 2, TrappedA: 3, Temperature: 4, Ambient: 5}},
		{"Zeit [s],Speisedruck [bar],Druck [bar],Öl [°C],Raum [°C]", [Roles]int{Time: 1, Feed: 2, TrappedA: 3, Temperature: 4, Ambient: 5}},
		{"Laufzeit [s],Haltedruck [bar],Leitung Druck [bar],Medium Temperatur [°C],Umgebungstemperatur [°C]", [Roles]int{Time: 1, TrappedA: 2, Temperature: 4, Ambient: 5}},
		{"Temps [s],Pression alimentation [bar],Pression A [bar],Pression B [bar],Ambiante [°C]", [Roles]int{Time: 1, Feed: 2, TrappedA: 3, TrappedB: 4, Ambient: 5}},
		{"Tiempo [s],Presión A [bar],Presión B [bar],Temperatura aceite [°C],Sala [°C]", [Roles]int{Time: 1, TrappedA: 2, TrappedB: 3, Temperature: 4, Ambient: 5}},
		{"PressureA [psi],PressureB [psi],SupplyPressure [psi],FluidTemp [°F],Time [s]", [Roles]int{TrappedA: 1, TrappedB: 2, Feed: 3, Temperature: 4, Time: 5}},
		{"No.,t [s],PA [bar],PB [bar],Tamb [°C]", [Roles]int{Time: 2, TrappedA: 3, TrappedB: 4, Temperature: 5}},
		{"s,bar,°C,x,y", [Roles]int{Time: 1, TrappedA: 2, Temperature: 3}},
		{"time [s],pressure setpoint [bar],pressure [bar],pressure max [bar],x", [Roles]int{Time: 1, TrappedA: 3}},
		{"time [s],ambient pressure [mbar],pressure [bar],x,y", [Roles]int{Time: 1, TrappedA: 3}},
		{"time [s],held [bar],line [bar],probe [°C],air [°C]", [Roles]int{Time: 1, TrappedA: 2, Temperature: 4, Ambient: 5}},
		{"time [s],Trapped A [bar],Trapped B [bar],Feed A [bar],x", [Roles]int{Time: 1, TrappedA: 2, TrappedB: 3, Feed: 4}},
	} {
		text := csv(c.header, 20, func(i int) string {
			return rowOf("%.1f,%.3f")(i) + rowOf(",%.1f,%.3f,1.5")(i)
		})
		h := &head{name: "x.csv", text: []byte(text)}
		tab, err := h.table(Settings{})
		require.NoError(t, err, c.header)
		f, err := tab.findColumns(Settings{})
		require.NoError(t, err, c.header)
		var got [Roles]int
		for r, k := range f.chosen {
			got[r] = k + 1
		}
		assert.Equal(t, c.want, got, c.header)
	}
}

func TestColumnReadsAsItPrints(t *testing.T) {
	for text, want := range map[string]Column{
		"p1":         {Name: "p1"},
		"p1 [bar]":   {Name: "p1", Unit: "bar"},
		" 3 [psi] ":  {Number: 3, Unit: "psi"},
		"3":          {Number: 3},
		"[bar]":      {Unit: "bar"},
		"None":       {Name: None},
		"p (x) [°C]": {Name: "p (x)", Unit: "°C"},
		"":           {},
	} {
		c := ParseColumn(text)
		assert.Equal(t, want, c, text)
		assert.Equal(t, want, ParseColumn(c.String()), text)
	}
}
