package foreign

import (
	"slices"
	"strings"

	"holdbench/analysis/si"
)

// meaning is what the words of a heading say, as a set.
type meaning uint16

const (
	saysTime meaning = 1 << iota
	saysElapsed
	saysDate
	saysPressure
	saysTemperature
	saysAmbient
	saysFeed
	saysTrapped
	saysLiquid
	saysA
	saysB
	saysAbsolute
	saysGauge
	saysNot // something derived or set, not measured: never found by itself
)

// vocabulary says which words mean what: English, German, French, Spanish,
// without accents. A stem counts within longer words (Speisedruck), a word
// only as a whole.
var vocabulary = []struct {
	mean  meaning
	stems []string
	words []string
}{
	{saysTime, []string{"zeit", "timestamp", "horodat", "heure", "tiempo"}, []string{"time", "t", "temps", "hora", "stamp", "datetime", "times"}},
	{saysElapsed, []string{"elapsed", "laufzeit", "ecoule", "transcurrid"}, []string{"duration", "dauer", "duree", "seconds", "sekunden", "sec", "secs"}},
	{saysDate, []string{"datum", "fecha"}, []string{"date", "datetime", "tag", "jour", "dia"}},
	{saysPressure, []string{"pressure", "druck", "pression", "presion"}, []string{"press", "p", "pa", "pb"}},
	{saysTemperature, []string{"temperatur", "thermo"}, []string{"temp", "tc"}},
	{saysAmbient, []string{"ambient", "umgebung", "ambiant"}, []string{"room", "raum", "raumtemperatur", "salle", "sala", "air", "luft", "lufttemperatur", "barometer", "barometric"}},
	{saysFeed, []string{"feed", "supply", "speise", "versorgung", "zulauf", "alimentation", "alimentacion"}, []string{"pump", "pumpe", "pumpendruck", "pompe", "bomba"}},
	{saysTrapped, []string{"trapped", "eingesperrt", "eingeschlossen", "halte", "retenid", "piege", "emprison"}, []string{"held", "hold", "holding"}},
	{saysLiquid, []string{"liquid", "fluid", "fluessig", "flussig", "liquide", "oltemp"}, []string{"oil", "ol", "huile", "aceite"}},
	{saysA, nil, []string{"a", "pa"}},
	{saysB, nil, []string{"b", "pb"}},
	{saysAbsolute, []string{"absolut"}, []string{"abs"}},
	{saysGauge, []string{"relativ"}, []string{"gauge", "rel"}},
	{saysNot, []string{"setpoint", "sollwert", "consigne", "alarm"}, []string{"set", "soll", "target", "limit", "min", "max", "mean", "avg", "average", "rate", "raw", "uncertainty", "status", "state"}},
}

// meaningOf looks a name's words up.
func meaningOf(name string) meaning {
	var m meaning
	parts := words(name)
	for _, row := range vocabulary {
		for _, part := range parts {
			if slices.Contains(row.words, part) || slices.ContainsFunc(row.stems, func(stem string) bool { return strings.Contains(part, stem) }) {
				m |= row.mean
			}
		}
	}
	return m
}

func (m meaning) has(part meaning) bool { return m&part != 0 }

// fits reports whether a name of this meaning may have a unit of quantity q.
func (m meaning) fits(q si.Quantity) bool {
	switch q {
	case si.Pressure:
		return !m.has(saysTemperature) && (!m.has(saysTime|saysElapsed|saysDate) || m.has(saysPressure))
	case si.Temperature:
		return !m.has(saysPressure)
	}
	return !m.has(saysPressure | saysTemperature | saysAmbient | saysFeed | saysTrapped)
}

// quantity is what a column holds by its unit, else by its words; ok is false
// where neither says.
func (h heading) quantity() (si.Quantity, bool) {
	if u, _, known := parseUnit(h.unit); known {
		return u.Quantity, true
	}
	switch {
	case h.mean.has(saysPressure):
		return si.Pressure, true
	case h.mean.has(saysTemperature):
		return si.Temperature, true
	case h.mean.has(saysTime | saysElapsed | saysDate):
		return si.Time, true
	case h.mean.has(saysTrapped | saysFeed):
		return si.Pressure, true
	case h.mean.has(saysAmbient):
		return si.Temperature, true
	}
	return si.Dimensionless, false
}
