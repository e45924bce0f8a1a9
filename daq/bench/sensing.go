package bench

import (
	"fmt"
	"strings"

	"holdbench/daq/sensor"
)

// Sensing says in words by what sensor and against what a channel measures,
// e.g. "thermocouple K, class 1, cold junction terminals"; empty where a
// straight line or nothing at all stands between signal and value.
func (c Channel) Sensing() string {
	var words []string
	switch s := c.Conversion.(type) {
	case sensor.Thermocouple:
		words = append(words, "thermocouple "+c.Sensor)
	case sensor.RTD:
		words = append(words, c.Sensor)
	case sensor.Polynomial:
		words = append(words, fmt.Sprintf("polynomial of degree %d", len(s.Coefficients)-1))
	case sensor.Table:
		words = append(words, fmt.Sprintf("table of %d points", len(s)))
	}
	if c.ToleranceClass != "" {
		words = append(words, "class "+c.ToleranceClass)
	}
	if c.ColdJunction.Given() {
		words = append(words, "cold junction "+c.ColdJunction.in("%.4g °C", 1, -273.15))
	}
	if c.Excitation.Given() {
		form, factor := "%.6g V", 1.0
		if _, platinum := c.Conversion.(sensor.RTD); platinum {
			form, factor = "%.6g mA", 1000
		}
		words = append(words, "excitation "+c.Excitation.in(form, factor, 0))
	}
	return strings.Join(words, ", ")
}

// in is the channel's name, or the fixed value times factor plus offset.
func (c Companion) in(form string, factor, offset float64) string {
	if c.Channel != "" {
		return c.Channel
	}
	return fmt.Sprintf(form, c.Value*factor+offset)
}
