package main

import (
	"io/fs"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/bench"
	"holdbench/daq/link"
	"holdbench/daq/simbench"
)

func TestPortsPrintTheLineOfTheBenchFile(t *testing.T) {
	ports := []link.PortInfo{
		{Name: "/dev/ttyS0"},
		{Name: "/dev/ttyUSB0", USB: true, VendorID: "0403", ProductID: "6001", SerialNumber: `A"1\B`, Product: "adapter"},
		{Name: "/dev/ttyUSB1", USB: true, VendorID: "10C4", ProductID: "EA60"},
		{Name: "/dev/ttyUSB2", USB: true, VendorID: "1A86", ProductID: "7523"},
		{Name: "/dev/ttyUSB3", USB: true, VendorID: "1A86", ProductID: "7523"},
		{Name: "/dev/ttyUSB4", USB: true, VendorID: "0403", ProductID: "6001", SerialNumber: "\x00\x01"},
	}
	var out strings.Builder
	require.NoError(t, printPorts(&out, ports, func(port string) (time.Duration, bool) {
		return 16 * time.Millisecond, port == "/dev/ttyUSB0"
	}, placed))
	screen := out.String()
	assert.Regexp(t, `/dev/ttyUSB0 +USB +0403:6001 +A"1\\B +16ms +adapter\n`, screen)
	for _, line := range []string{
		`port = "/dev/ttyS0"`,
		`usb = { vendor = "0403", product = "6001", serial = "A\"1\\B" }`,
		`usb = { vendor = "10c4", product = "ea60" }`,
		`port = "/dev/serial/by-path/socket-2"`, "# /dev/ttyUSB2 is plugged in there; another adapter says the same of itself, so keep each in its socket\n",
		`port = "/dev/ttyUSB3"`, `# /dev/ttyUSB3: another adapter says the same of itself, and this name may be the other one's`,
		`port = "/dev/ttyUSB4"`,
	} {
		assert.Contains(t, screen, line)
	}

	// What is printed is what a bench file takes, and names the port again.
	line, _ := benchLine(ports[1], ports, placed)
	b := parsedWith(t, line)
	found, err := b.Links[0].USB.Find(ports)
	require.NoError(t, err)
	assert.Equal(t, "/dev/ttyUSB0", found.Name)

	out.Reset()
	require.NoError(t, printPorts(&out, nil, link.Latency, link.ByPath))
	assert.Contains(t, out.String(), "No serial port")
}

// placed knows the socket of one adapter.
func placed(port string) (string, bool) {
	return "/dev/serial/by-path/socket-2", port == "/dev/ttyUSB2"
}

// Adapters that cannot be told apart are named in a new bench file by their
// sockets, or it is said that their names may be swapped.
func TestDraftSaysWhichAdaptersMayBeSwapped(t *testing.T) {
	twins := []link.PortInfo{
		{Name: "/dev/ttyUSB1", USB: true, VendorID: "10C4", ProductID: "EA60"},
		{Name: "/dev/ttyUSB2", USB: true, VendorID: "1A86", ProductID: "7523"},
		{Name: "/dev/ttyUSB3", USB: true, VendorID: "1A86", ProductID: "7523"},
	}
	for name, want := range map[string]struct {
		where string
		swap  bool
	}{
		"/dev/ttyUSB1": {`usb = { vendor = "10c4", product = "ea60" }`, false},
		"/dev/ttyUSB2": {`port = "/dev/serial/by-path/socket-2"`, true},
		"/dev/ttyUSB3": {`port = "/dev/ttyUSB3"`, true},
		"/dev/pts/7":   {`port = "/dev/pts/7"`, false},
	} {
		where, note, swap := draftPort(name, twins, placed)
		assert.Equal(t, want.where, where)
		assert.Equal(t, want.swap, swap)
		assert.Equal(t, want.swap, strings.Contains(note, "another adapter says the same of itself"), note)
	}
}

// parsedWith is the crane's bench file with another line for its first port.
func parsedWith(t *testing.T, line string) *bench.Bench {
	t.Helper()
	file, err := fs.ReadFile(simbench.CraneFiles(), "bench.toml")
	require.NoError(t, err)
	text := string(file)
	first := strings.Index(text, "\nport = ")
	require.Positive(t, first)
	end := first + 1 + strings.Index(text[first+1:], "\n")
	b, err := bench.Parse("bench.toml", []byte(text[:first+1]+line+text[end:]))
	require.NoError(t, err)
	return b
}
