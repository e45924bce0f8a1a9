package bench

import (
	"strings"

	"holdbench/daq/link"
	"holdbench/daq/strict"
)

// usb reads usb = { vendor, product, serial } of a link, which stands in the
// place of its port.
func (p *parser) usb(k strict.Key) link.Identity {
	t := k.Table()
	if t == nil {
		return link.Identity{}
	}
	i := link.Identity{Vendor: usbNumber(t.Required("vendor")), Product: usbNumber(t.Required("product"))}
	if s := t.Optional("serial"); s.Given() {
		i.Serial = s.Text()
	}
	for _, other := range p.bench.Links {
		o := other.USB
		if !o.Given() || o.Vendor != i.Vendor || o.Product != i.Product {
			continue
		}
		if o.Serial == i.Serial || o.Serial == "" || i.Serial == "" {
			k.Fault(i.String()+", while link "+strict.Quote(other.Name)+" is "+o.String(), "adapters that a serial number of each tells apart")
		}
	}
	return i
}

// usbNumber is four hexadecimal digits, in lower case; empty when at fault.
func usbNumber(k strict.Key) string {
	text := k.Text()
	if text == "" {
		return ""
	}
	if len(text) != 4 || strings.Trim(text, "0123456789abcdefABCDEF") != "" {
		k.Fault(strict.Quote(text), `four hexadecimal digits, e.g. "0403", as holdbench ports prints them`)
		return ""
	}
	return strings.ToLower(text)
}
