package link

import (
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"
)

// usbSerial is where Linux keeps what it knows of serial adapters on USB.
const usbSerial = "/sys/bus/usb-serial/devices"

// Latency is how long a USB adapter holds back received bytes that do not
// fill a packet, so that each exchange takes that much longer. It is known
// where the system tells it: on Linux, for adapters that have such a timer.
func Latency(port string) (d time.Duration, known bool) { return latencyUnder(usbSerial, port) }

// latencyUnder reads <root>/<name of the terminal>/latency_timer, whole
// milliseconds. port may be a symbolic link, e.g. one in /dev/serial/by-id.
func latencyUnder(root, port string) (d time.Duration, known bool) {
	text, err := os.ReadFile(filepath.Join(root, terminal(port), "latency_timer"))
	if err != nil {
		return 0, false // no such adapter, or another system
	}
	ms, err := strconv.ParseUint(strings.TrimSpace(string(text)), 10, 16)
	if err != nil {
		return 0, false
	}
	return time.Duration(ms) * time.Millisecond, true
}

// terminal is the name that the system knows a port by.
func terminal(port string) string {
	if target, err := filepath.EvalSymlinks(port); err == nil {
		port = target
	}
	return filepath.Base(port)
}

// LowerLatency says in words how the latency of a USB adapter is lowered on
// an operating system (runtime.GOOS); it is a setting of the computer, which
// the program does not touch.
func LowerLatency(system, port string) string {
	switch system {
	case "linux":
		t := terminal(port)
		return "as root: echo 1 > " + usbSerial + "/" + t + "/latency_timer (or: setserial /dev/" + t +
			" low_latency); it holds until the adapter is plugged in anew, and for good with the udev rule" +
			` ACTION=="add", SUBSYSTEM=="usb-serial", ATTR{latency_timer}="1"`
	case "windows":
		return "in the Device Manager: the port's properties, Port Settings, Advanced, latency timer: 1 ms"
	case "darwin":
		return "macOS has no file or setting for it: ask the driver's maker, or take an adapter without such a timer"
	}
	return "see the adapter's driver"
}
