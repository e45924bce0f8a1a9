//go:build darwin && !cgo

package link

// knownPorts lists names only: the system tells more to C programs alone.
func knownPorts() ([]PortInfo, error) { return namedPorts() }
