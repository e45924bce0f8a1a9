package sensor_test

import (
	"fmt"
	"testing"
	"time"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/sensor"
)

// A thermocouple's module sends the voltage between its terminals; what the
// terminals' own temperature adds is added before the temperature is read off.
func ExampleThermocouple() {
	k, _ := sensor.NewThermocouple("K")
	beside := sensor.Alone()
	beside.ColdJunction = 273.15 + 23
	t, health := k.Value(1.1e-3, beside)
	fmt.Printf("%.4f °C, %v\n", t-273.15, health)

	_, health = k.Value(78e-3, beside) // the module's burn-out
	fmt.Println(health)
	// Output:
	// 49.9079 °C, ok
	// broken wire
}

func ExampleRTD() {
	pt100, _ := sensor.NewRTD("Pt100")
	t, _ := pt100.Value(107.79, sensor.Alone())
	fmt.Printf("%.2f °C\n", t-273.15)
	// Output: 19.99 °C
}

// A transmitter of 0 to 250 bar in a loop of 4 to 20 mA.
func ExampleConfig_Reading() {
	mA, _ := si.ParseUnit("mA", si.Current)
	c := sensor.Config{
		Quantity: si.Pressure, Scale: 0.001, Unit: mA, // sent in µA
		Conversion: sensor.Scaling{SignalLow: 4e-3, SignalHigh: 20e-3, ValueLow: 0, ValueHigh: 250e5},
		Low:        0, High: 250e5,
	}
	for _, raw := range []float64{12000, 3500, 0, 25000} {
		r := c.Reading(daq.Signal{Raw: raw}, sensor.Alone())
		fmt.Printf("%g mA: %.0f bar, %v\n", r.Raw, r.Value/1e5, r.Health)
	}
	// Output:
	// 12 mA: 125 bar, ok
	// 3.5 mA: NaN bar, under range
	// 0 mA: NaN bar, broken wire
	// 25 mA: NaN bar, short circuit
}

func ExampleClass() {
	class, _ := sensor.ClassOf("K", "1")
	fmt.Printf("%s class %s: ±%.1f K at 100 °C, ±%.1f K at 500 °C; a change is misread by up to %.2f %%\n",
		class.Standard, class.Name, class.Limit(273.15+100), class.Limit(273.15+500), 100*class.Slope())
	// Output: IEC 60584-1 class 1: ±1.5 K at 100 °C, ±2.0 K at 500 °C; a change is misread by up to 0.53 %
}

// A pressure that jumps faster than it can is no reading; what stays is
// believed the third time.
func ExampleWatch() {
	w := sensor.Watch{Fastest: 100e5} // 100 bar/s
	for i, bar := range []float64{100, 160, 100, 40, 40, 40} {
		h := w.See(time.Duration(i)*100*time.Millisecond, daq.Reading{Raw: bar, Value: bar * 1e5})
		fmt.Print(h, "; ")
	}
	fmt.Println()
	// Output: ok; too fast; ok; too fast; too fast; ok;
}

func BenchmarkThermocouple(b *testing.B) {
	k, _ := sensor.NewThermocouple("K")
	beside := sensor.Alone()
	beside.ColdJunction = 273.15 + 23
	for i := range b.N {
		k.Value(1.1e-3+1e-9*float64(i%1000), beside)
	}
}
