package bench_test

import (
	"fmt"
	"time"

	"holdbench/daq/bench"
)

func ExampleLoad() {
	b, err := bench.Load("testdata/bench.toml")
	if err != nil {
		fmt.Println(err) // one line for each fault
		return
	}
	at := time.Date(2026, 11, 25, 8, 0, 0, 0, time.UTC)
	c, _ := b.Characterisation("HV-1", "a", "mineral hydraulic oil ISO VG 32", 100e5, at)
	fmt.Printf("%s: %.0f ± %.0f Pa/K\n", b.Name, c.ThermalCoefficient.Value, c.ThermalCoefficient.StdUncertainty)
	_, reason := b.Characterisation("HV-2", "a", "mineral hydraulic oil ISO VG 32", 100e5, at)
	fmt.Println(reason)
	// Output:
	// Bench 3: 450000 ± 15000 Pa/K
	// no characterisation of model HV-2 on this bench
}

func ExampleParse() {
	_, err := bench.Parse("bench.toml", []byte(`
name = "Bench 3"
[[link]]
name = "rs485"
port = "COM3"
baud = -1
`))
	fmt.Println(err)
	// Output:
	// bench.toml:1: instrument: found nothing, want at least one table [[instrument]]
	// bench.toml:1: channel: found nothing, want at least one table [[channel]]
	// bench.toml:6: link "rs485": baud: found -1, want a whole number from 50 to 12000000
}
