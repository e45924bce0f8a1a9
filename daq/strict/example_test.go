package strict_test

import (
	"fmt"

	"holdbench/analysis/si"
	"holdbench/daq/strict"
)

// A reader asks for each key that may stand in a table, closes the table, and
// then sees all faults at once.
func ExampleParseTOML() {
	root, faults := strict.ParseTOML("hose.toml", []byte(`
name = "hose"
lenght = "2 m"

[[clamp]]
name = "left"
pressure = 400
`))
	if root == nil {
		fmt.Println(faults.Err())
		return
	}
	root.Required("name").Name()
	root.Optional("length").Text()
	for _, t := range root.Required("clamp").Tables() {
		t.Required("name").Name()
		t.Required("pressure").Quantity(si.Pressure)
	}
	root.Close()
	fmt.Println(faults.Err())
	// Output:
	// hose.toml:3: lenght: found an unknown key, want "length"?
	// hose.toml:7: clamp "left": pressure: found 400, want a pressure with unit, e.g. "400 bar"
}

func ExampleCheckSerial() {
	fmt.Println(strict.CheckSerial("HV2-00017", "HV1-[0-9]{5}"))
	// Output: serial number: found "HV2-00017", want one that matches HV1-[0-9]{5}
}
