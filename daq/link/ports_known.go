//go:build !darwin || cgo

package link

import "go.bug.st/serial/enumerator"

// knownPorts asks the system what it knows. Where it keeps no such list the
// names alone are returned.
func knownPorts() ([]PortInfo, error) {
	details, err := enumerator.GetDetailedPortsList()
	if err != nil {
		return namedPorts()
	}
	ports := make([]PortInfo, len(details))
	for i, d := range details {
		ports[i] = PortInfo{
			Name: d.Name, USB: d.IsUSB,
			VendorID: d.VID, ProductID: d.PID, SerialNumber: d.SerialNumber,
			Manufacturer: d.Manufacturer, Product: d.Product,
		}
	}
	return ports, nil
}
