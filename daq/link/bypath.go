package link

import (
	"os"
	"path/filepath"
)

// serialByPath is where Linux names serial ports by the socket that their
// adapter is plugged into.
const serialByPath = "/dev/serial/by-path"

// ByPath is the name of a port by the place where its adapter is plugged in,
// which stays with the place and not with the adapter. It is known where the
// system keeps such names: on Linux, for adapters on USB.
func ByPath(port string) (name string, known bool) { return byPathUnder(serialByPath, port) }

// byPathUnder looks for the first link in root that leads to the port.
func byPathUnder(root, port string) (name string, known bool) {
	device, err := filepath.EvalSymlinks(port)
	if err != nil {
		return "", false // it is not there
	}
	links, err := os.ReadDir(root)
	if err != nil {
		return "", false // another system, or no adapter
	}
	for _, l := range links {
		name := filepath.Join(root, l.Name())
		if target, err := filepath.EvalSymlinks(name); err == nil && target == device {
			return name, true
		}
	}
	return "", false
}
