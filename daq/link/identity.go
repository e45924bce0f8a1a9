package link

import (
	"errors"
	"fmt"
	"strings"
)

// Identity names a USB adapter by what it says of itself, whatever name the
// system gives it this time. Vendor and Product are four hexadecimal digits
// each. Serial may be empty; then no other adapter of that vendor and product
// may be plugged in.
type Identity struct{ Vendor, Product, Serial string }

// Given says whether it names an adapter at all.
func (i Identity) Given() bool { return i != Identity{} }

// String is e.g. `USB 0403:6001, serial number "A1B2"`.
func (i Identity) String() string {
	text := "USB " + strings.ToLower(i.Vendor+":"+i.Product)
	if i.Serial != "" {
		text += fmt.Sprintf(", serial number %q", i.Serial)
	}
	return text
}

// Identity is what identifies the port's adapter; not Given for a port that is
// not on USB.
func (p PortInfo) Identity() Identity {
	if !p.USB {
		return Identity{}
	}
	return Identity{Vendor: p.VendorID, Product: p.ProductID, Serial: p.SerialNumber}
}

// fits says whether the port is what the identity names.
func (i Identity) fits(p PortInfo) bool {
	return p.USB && strings.EqualFold(i.Vendor, p.VendorID) && strings.EqualFold(i.Product, p.ProductID) &&
		(i.Serial == "" || i.Serial == p.SerialNumber)
}

// Find returns the one port that the identity names. The errors are
// ErrNoSuchPort, which names what is plugged in instead, and ErrAmbiguous,
// which names the candidates.
func (i Identity) Find(ports []PortInfo) (PortInfo, error) {
	var found, others []PortInfo
	for _, p := range ports {
		switch {
		case i.fits(p):
			found = append(found, p)
		case p.USB:
			others = append(others, p)
		}
	}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(found) > 1:
		return PortInfo{}, fmt.Errorf("%w %s: %s; %s", ErrAmbiguous, i, named(found), tellApart(found))
	case len(others) > 0:
		return PortInfo{}, fmt.Errorf("%w: no adapter is %s; there are %s", ErrNoSuchPort, i, named(others))
	case len(ports) > 0:
		return PortInfo{}, fmt.Errorf("%w: no adapter is %s; of no port here the system says that it is on USB", ErrNoSuchPort, i)
	}
	return PortInfo{}, fmt.Errorf("%w: no adapter is %s; the adapter may be unplugged", ErrNoSuchPort, i)
}

func named(ports []PortInfo) string {
	var each []string
	for _, p := range ports {
		each = append(each, fmt.Sprintf("%s (%s)", p.Name, p.Identity()))
	}
	return strings.Join(each, ", ")
}

// tellApart says how several ports that fit can be told apart.
func tellApart(ports []PortInfo) string {
	serials := map[string]bool{}
	for _, p := range ports {
		if p.SerialNumber == "" || serials[p.SerialNumber] {
			return "they cannot be told apart by a serial number: name the port itself, on Linux by its place in /dev/serial/by-path"
		}
		serials[p.SerialNumber] = true
	}
	return "say the serial number too"
}

// Unique says whether the identity names one port only.
func (i Identity) Unique(ports []PortInfo) bool {
	_, err := i.Find(ports)
	return err == nil || !errors.Is(err, ErrAmbiguous)
}

// same says which adapter a port's name stands for now, and refuses one that is
// not the first: the system gives a name to whichever adapter is plugged in
// next, and its instrument would be taken for the one that was there before. A
// name that the system does not list, a link made by the user for one, is taken
// at its word; adapters without a serial number cannot be told apart.
func (p *Port) same(name string) (now Identity, err error) {
	if p.config.Port == "" {
		return Identity{}, nil // found by what it is
	}
	ports, err := p.list()
	if err != nil {
		return Identity{}, nil // nobody knows
	}
	for _, port := range ports {
		if port.Name == name {
			now = port.Identity()
		}
	}
	if now.Given() && p.first.Given() && now != p.first {
		return now, fmt.Errorf("%w: %s is another adapter now, %s, where %s was before; plug that one in again, or name it by its USB identity in the bench file",
			ErrNoSuchPort, name, now, p.first)
	}
	return now, nil
}
