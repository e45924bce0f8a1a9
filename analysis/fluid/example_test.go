package fluid_test

import (
	"fmt"

	"holdbench/analysis/fluid"
)

// What a liquid is at a state, with its uncertainty, and why nothing is said
// outside its range.
func ExampleLiquid_At() {
	oil, _ := fluid.Lookup("HLP 32")
	p, err := oil.At(fluid.State{PressureAbs: fluid.Atmosphere, Temperature: fluid.Celsius(20)})
	if err != nil {
		fmt.Println(err)
		return
	}
	k := p.BulkModulus
	fmt.Printf("%s: K %.2f ± %.2f GPa (k = 1)\n", oil.Name, k.Value/1e9, k.StdUncertainty/1e9)
	fmt.Println(k.Budget[0].Source, "–", k.Budget[0].Note)

	_, err = oil.At(fluid.State{PressureAbs: fluid.Atmosphere, Temperature: fluid.Celsius(200)})
	fmt.Println(err)
	// Output:
	// mineral hydraulic oil ISO VG 32: K 1.60 ± 0.13 GPa (k = 1)
	// bulk modulus – 1.4 to 1.8 GPa at low pressure: public handbook tables (260000 psi at 10000 psi and 20 °C; 1.5 to 2.0 GPa in service)
	// mineral hydraulic oil ISO VG 32: nothing is known at 0 bar and 200 °C; its figures hold from -0.113 to 400 bar and -10 to 90 °C
}

// A metre of the softest brake hose takes most of a small volume's stiffness.
func ExampleVolume_MoreHose() {
	oil, _ := fluid.Lookup("ISO VG 32")
	steel, _ := fluid.LookupMaterial("steel")
	v := fluid.Volume{
		Liquid: oil, Body: steel,
		Trapped: fluid.Parameter{Name: "trapped volume", Value: 50e-6, U: 2e-6, Source: "drawing"},
		Air:     fluid.Parameter{Name: "free air", Value: 0.002, U: 0.001, Source: "guess"},
	}
	s := fluid.State{PressureAbs: 101e5, Temperature: fluid.Celsius(20)}
	change, err := v.MoreHose(fluid.RegulationHose(), s)
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("stiffness × %.2f\n", change.Stiffness.Value)
	// Output: stiffness × 0.09
}
