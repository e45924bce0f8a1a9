package procedure_test

import (
	"fmt"

	"holdbench/daq/procedure"
)

func ExampleLoad() {
	p, err := procedure.Load("testdata/hv-1.toml")
	if err != nil {
		fmt.Println(err) // one line for each fault
		return
	}
	hold, _ := p.Step(procedure.Hold)
	fmt.Println(p.Model, hold.Duration, p.Limits[0].Quantity, p.Limits[0].Bound, p.Limits[0].Written)
	// Output: HV-1 5m0s decay_rate max 0.5 bar/min
}
