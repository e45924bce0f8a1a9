package link_test

import (
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/link"
)

// plugged are invented adapters.
var plugged = []link.PortInfo{
	{Name: "/dev/ttyS0"},
	{Name: "/dev/ttyUSB0", USB: true, VendorID: "0403", ProductID: "6001", SerialNumber: "A1B2"},
	{Name: "/dev/ttyUSB1", USB: true, VendorID: "0403", ProductID: "6001", SerialNumber: "C3D4"},
	{Name: "/dev/ttyUSB2", USB: true, VendorID: "10C4", ProductID: "EA60"},
	{Name: "/dev/ttyUSB3", USB: true, VendorID: "0403", ProductID: "6011", SerialNumber: "E5"},
	{Name: "/dev/ttyUSB4", USB: true, VendorID: "0403", ProductID: "6011", SerialNumber: "E5"},
}

func TestAdapterIsFoundByWhatItSaysOfItself(t *testing.T) {
	for _, c := range []struct {
		of   link.Identity
		want string
	}{
		{link.Identity{Vendor: "0403", Product: "6001", Serial: "C3D4"}, "/dev/ttyUSB1"},
		{link.Identity{Vendor: "10c4", Product: "ea60"}, "/dev/ttyUSB2"}, // hexadecimal in any case
	} {
		p, err := c.of.Find(plugged)
		require.NoError(t, err)
		assert.Equal(t, c.want, p.Name)
		assert.True(t, p.Identity().Unique(plugged))
	}
}

func TestAdapterThatIsNotThereOrNotTheOnlyOne(t *testing.T) {
	for _, c := range []struct {
		of   link.Identity
		in   []link.PortInfo
		is   error
		want string
	}{
		{link.Identity{Vendor: "0403", Product: "6001"}, plugged[:3], link.ErrAmbiguous,
			`more than one port fits USB 0403:6001: /dev/ttyUSB0 (USB 0403:6001, serial number "A1B2"), /dev/ttyUSB1 (USB 0403:6001, serial number "C3D4"); say the serial number too`},
		{link.Identity{Vendor: "0403", Product: "6011", Serial: "E5"}, plugged, link.ErrAmbiguous,
			"they cannot be told apart by a serial number: name the port itself"},
		{link.Identity{Vendor: "0403", Product: "6001", Serial: "a1b2"}, plugged[:2], link.ErrNoSuchPort,
			`no such port: no adapter is USB 0403:6001, serial number "a1b2"; there are /dev/ttyUSB0 (USB 0403:6001, serial number "A1B2")`},
		{link.Identity{Vendor: "0403", Product: "6001"}, plugged[:1], link.ErrNoSuchPort, "of no port here the system says that it is on USB"},
		{link.Identity{Vendor: "0403", Product: "6001"}, nil, link.ErrNoSuchPort, "the adapter may be unplugged"},
	} {
		_, err := c.of.Find(c.in)
		require.ErrorIs(t, err, c.is)
		assert.ErrorContains(t, err, c.want)
	}
	assert.False(t, plugged[3].Identity().Serial != "" || plugged[0].Identity().Given())
	assert.False(t, plugged[4].Identity().Unique(plugged))
}

func TestPortOnUSBIsLookedForAtEachOpening(t *testing.T) {
	var lists int
	p := link.New(link.Config{Name: "rs485", USB: link.Identity{Vendor: "0403", Product: "6001"}, Baud: 9600}, link.Options{
		List: func() ([]link.PortInfo, error) { lists++; return nil, nil },
	})
	for want := range 3 {
		assert.Equal(t, want, lists)
		err := p.Reopen()
		require.ErrorIs(t, err, link.ErrNoSuchPort)
		assert.EqualError(t, err, "open port rs485 (USB 0403:6001): no such port: no adapter is USB 0403:6001; the adapter may be unplugged")
	}
	assert.Empty(t, p.At())

	refused := errors.New("no list")
	p = link.New(link.Config{USB: link.Identity{Vendor: "0403", Product: "6001"}}, link.Options{
		List: func() ([]link.PortInfo, error) { return nil, refused },
	})
	require.ErrorIs(t, p.Reopen(), refused)
	assert.Equal(t, "COM3", link.New(link.Config{Port: "COM3"}, link.Options{}).At())
}
