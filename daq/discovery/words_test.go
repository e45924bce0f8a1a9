package discovery_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"holdbench/daq/discovery"
)

func TestDelaysInWords(t *testing.T) {
	const ms = time.Millisecond
	for want, d := range map[string]discovery.Delays{
		"no exchange was answered": {},
		"an exchange goes over the network, which has no baud; module or adapter: 4 ms together, which of them cannot be told from here": {
			Exchanges: 9, Besides: 4 * ms, BesidesLow: 4 * ms, BesidesHigh: 4 * ms},
		"an exchange is 12.5 ms of characters on the wire, and hardly anything besides": {
			Exchanges: 9, Wire: 12500 * time.Microsecond, Besides: ms / 2, BesidesHigh: 4 * ms, Told: true},
		"an exchange is 12 ms of characters on the wire; module or adapter: 21 ms together (13 ms to 29 ms), which of them cannot be told from here": {
			Exchanges: 9, Wire: 12 * ms, Besides: 21 * ms, BesidesLow: 13 * ms, BesidesHigh: 29 * ms},
		"an exchange is 12 ms of characters on the wire; module and adapter together take 21 ms besides, and the adapter's latency timer is 16 ms: how much of it the adapter takes cannot be told from here": {
			Exchanges: 9, Wire: 12 * ms, Besides: 21 * ms, BesidesLow: 21 * ms, BesidesHigh: 21 * ms, Timer: 16 * ms},
		"an exchange is 12 ms of characters on the wire; the module answers after 5 ms (3 ms to 6.5 ms); the adapter holds answers back until its latency timer of 16 ms expires, 8 ms on average": {
			Exchanges: 9, Wire: 12 * ms, Besides: 13 * ms, Timer: 16 * ms, Seen: true, Told: true, Module: 5 * ms, ModuleLow: 3 * ms, ModuleHigh: 6500 * time.Microsecond},
		"an exchange is 12 ms of characters on the wire; the module answers after 5 ms; the adapter's latency timer is 1 ms": {
			Exchanges: 9, Wire: 12 * ms, Besides: 5 * ms, Timer: ms, Told: true, Module: 5 * ms, ModuleLow: 5 * ms, ModuleHigh: 5 * ms},
	} {
		assert.Equal(t, want, d.String())
	}
	assert.True(t, discovery.Delays{Exchanges: 9, Wire: 12 * ms, Besides: 13 * ms, Timer: 16 * ms, Seen: true}.Costly())
	assert.False(t, discovery.Delays{Exchanges: 9, Wire: 12 * ms, Besides: 13 * ms, Timer: 16 * ms}.Costly(), "it holds nothing back")
	assert.False(t, discovery.Delays{Exchanges: 9, Wire: 200 * ms, Besides: 13 * ms, Timer: 16 * ms, Seen: true}.Costly())
}
