package link

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestLatencyIsReadWhereTheSystemKeepsIt(t *testing.T) {
	root, dev := t.TempDir(), t.TempDir()
	for name, text := range map[string]string{"ttyUSB0": "16\n", "ttyUSB1": "1\n", "ttyUSB2": "soon\n", "ttyUSB3": "-1\n"} {
		require.NoError(t, os.Mkdir(filepath.Join(root, name), 0o700))
		require.NoError(t, os.WriteFile(filepath.Join(root, name, "latency_timer"), []byte(text), 0o600))
		require.NoError(t, os.WriteFile(filepath.Join(dev, name), nil, 0o600))
	}
	require.NoError(t, os.Mkdir(filepath.Join(root, "ttyUSB4"), 0o700), "an adapter without a timer")
	for port, want := range map[string]time.Duration{"/dev/ttyUSB0": 16 * time.Millisecond, "/dev/ttyUSB1": time.Millisecond} {
		d, known := latencyUnder(root, port)
		assert.True(t, known)
		assert.Equal(t, want, d)
	}
	for _, port := range []string{"/dev/ttyUSB2", "/dev/ttyUSB3", "/dev/ttyUSB4", "/dev/ttyACM0", "COM3", "tcp://10.0.0.7:502", ""} {
		_, known := latencyUnder(root, port)
		assert.False(t, known, port)
	}
	byID := filepath.Join(dev, "usb-adapter-if00-port0")
	if err := os.Symlink(filepath.Join(dev, "ttyUSB0"), byID); err != nil {
		t.Skip("no symbolic links here; systems that have them run this: ", err)
	}
	d, known := latencyUnder(root, byID)
	assert.True(t, known)
	assert.Equal(t, 16*time.Millisecond, d)
}

func TestHowToLowerTheLatency(t *testing.T) {
	assert.Contains(t, LowerLatency("linux", "/dev/ttyUSB0"), "echo 1 > /sys/bus/usb-serial/devices/ttyUSB0/latency_timer")
	assert.Contains(t, LowerLatency("windows", "COM3"), "latency timer: 1 ms")
	for _, system := range []string{"darwin", "plan9"} {
		assert.NotEmpty(t, LowerLatency(system, "x"))
	}
}
