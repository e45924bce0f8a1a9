package fluid

import "math"

// walther is a kinematic viscosity by temperature:
//
//	log10(log10(ν/(mm²/s) + 0.7)) = a − b·log10(T/K)
//
// Source: [5], from 2 mm²/s up; below it the standard has small further terms
// that are left out (under 3 % down to 1.5 mm²/s).
type walther struct{ a, b float64 }

// mm2PerSecond in m²/s.
const mm2PerSecond = 1e-6

// waltherThrough goes through two viscosities (m²/s, above 0.31 mm²/s) at two
// temperatures (K).
func waltherThrough(t1, nu1, t2, nu2 float64) walther {
	y1, y2 := doubleLog(nu1), doubleLog(nu2)
	b := (y1 - y2) / (math.Log10(t2) - math.Log10(t1))
	return walther{a: y1 + b*math.Log10(t1), b: b}
}

func doubleLog(nu float64) float64 { return math.Log10(math.Log10(nu/mm2PerSecond + 0.7)) }

// viscosity at a temperature, m²/s.
func (w walther) viscosity(t float64) float64 {
	return (math.Pow(10, math.Pow(10, w.a-w.b*math.Log10(t))) - 0.7) * mm2PerSecond
}

// change is (1/ν)·dν/dT, 1/K, the derivative of the law (mark L).
func (w walther) change(t float64) float64 {
	nu := w.viscosity(t) / mm2PerSecond
	return -w.b * (nu + 0.7) * math.Log(nu+0.7) / (nu * t)
}
