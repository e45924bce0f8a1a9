package link

import (
	"cmp"
	"fmt"
	"slices"

	"go.bug.st/serial"
)

// PortInfo is a serial port and what the system knows of it; what it does not
// know is empty. Pseudo-terminals are never listed.
type PortInfo struct {
	// Name is what a bench file's port names.
	Name string
	// USB is true for an adapter on USB. VendorID and ProductID are in
	// hexadecimal, as printed by the system.
	USB                               bool
	VendorID, ProductID, SerialNumber string
	Manufacturer, Product             string
}

// Ports lists the serial ports of this computer by name.
func Ports() ([]PortInfo, error) {
	ports, err := knownPorts()
	if err != nil {
		return nil, fmt.Errorf("list serial ports: %w", err)
	}
	slices.SortFunc(ports, func(a, b PortInfo) int { return cmp.Compare(a.Name, b.Name) })
	return ports, nil
}

// namedPorts lists names only, where nothing more is known.
func namedPorts() ([]PortInfo, error) {
	names, err := serial.GetPortsList()
	ports := make([]PortInfo, len(names))
	for i, name := range names {
		ports[i].Name = name
	}
	return ports, err
}
