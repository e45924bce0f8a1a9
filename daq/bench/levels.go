package bench

import "holdbench/daq/strict"

// levelled notes a calibration of an excitation whose level the bench file does
// not tell: its uncertainty would count for nothing. tables are [[calibration]]
// without a fault.
func (b *Bench) levelled(tables []*strict.Table) {
	for _, t := range tables {
		k := t.Required("channel")
		if c, _, ok := b.Channel(k.Text()); ok && b.excites(c.Name) && !(c.RangeLow > 0) {
			k.Fault(k.Found()+unlevelledFound, unlevelledWant)
		}
	}
}
