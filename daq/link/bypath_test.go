package link

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestPortIsNamedByThePlaceOfItsAdapter(t *testing.T) {
	dev := t.TempDir()
	root := filepath.Join(dev, "serial", "by-path")
	require.NoError(t, os.MkdirAll(root, 0o777))
	first, second, other := filepath.Join(dev, "ttyUSB0"), filepath.Join(dev, "ttyUSB1"), filepath.Join(dev, "ttyS0")
	for _, port := range []string{first, second, other} {
		require.NoError(t, os.WriteFile(port, nil, 0o666))
	}
	place := filepath.Join(root, "pci-0-usb-0:1:1.0-port0")
	if err := os.Symlink("../../ttyUSB1", place); err != nil {
		t.Skip("this system lets nobody make symbolic links: ", err)
	}
	require.NoError(t, os.Symlink("../../ttyUSB9", filepath.Join(root, "pci-0-usb-0:0:1.0-port0"))) // unplugged meanwhile

	name, known := byPathUnder(root, second)
	assert.True(t, known)
	assert.Equal(t, place, name)
	for _, port := range []string{first, other, filepath.Join(dev, "ttyUSB9")} {
		_, known = byPathUnder(root, port)
		assert.False(t, known, port)
	}
	_, known = byPathUnder(filepath.Join(dev, "none"), second)
	assert.False(t, known)
}
