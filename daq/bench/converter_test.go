package bench_test

import (
	"math"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/sensor"
)

// said are the signals of couples' module: a type K at 60 °C over a cold
// junction of 25 °C by a Pt100 at 1 mA, 1.5 mV/V of 10 V, 12 mA.
func said(t *testing.T) []daq.Signal {
	k, ok := sensor.NewThermocouple("K")
	require.True(t, ok)
	pt, ok := sensor.NewRTD("Pt100")
	require.True(t, ok)
	return []daq.Signal{
		{Raw: (k.EMF(273.15+60) - k.EMF(273.15+25)) * 1000},
		{Raw: pt.Resistance(273.15 + 25)}, // mV at 1 mA
		{Raw: 15}, {Raw: 10}, {Raw: 12},
	}
}

func converter(t *testing.T, text string) *bench.Converter {
	c, err := parsed(t, text).Converter()
	require.NoError(t, err)
	return c
}

func TestWhatAnotherChannelNeedsComesFirst(t *testing.T) {
	c := converter(t, couples)
	dst := make([]daq.Reading, 5)
	c.Convert("module", time.Second, dst, said(t))
	for i, want := range []float64{273.15 + 60, 273.15 + 25, 295e5, 10, 125e5} {
		assert.Equal(t, daq.Healthy, dst[i].Health, i)
		assert.Equal(t, i, dst[i].Channel)
		assert.InEpsilon(t, want, dst[i].Value, 1e-9, i)
	}
	assert.Equal(t, []int{0, 1, 2, 3, 4}, c.Channels("module"))
}

// A cold junction that is not read any more stands for a while; then what needs
// it is missing, its raw signal kept.
func TestAnOldColdJunctionMakesTheReadingMissing(t *testing.T) {
	c := converter(t, couples)
	dst, src := make([]daq.Reading, 5), said(t)
	src[1].Health = daq.Missing
	c.Convert("module", 0, dst, src)
	assert.Equal(t, daq.Missing, dst[0].Health, "not known yet")
	c.Convert("module", time.Second, dst, said(t))
	require.Equal(t, daq.Healthy, dst[0].Health)
	for _, e := range []struct {
		at   time.Duration
		want daq.Health
	}{{2 * time.Second, daq.Healthy}, {11 * time.Second, daq.Healthy}, {11*time.Second + time.Millisecond, daq.Missing}} {
		c.Convert("module", e.at, dst, src)
		assert.Equal(t, e.want, dst[0].Health, e.at)
		assert.Equal(t, e.want != daq.Healthy, math.IsNaN(dst[0].Value))
		assert.Equal(t, src[0].Raw, dst[0].Raw)
	}
	src = said(t)
	src[1].Raw = 0 // shorted
	c.Convert("module", 12*time.Second, dst, src)
	assert.Equal(t, daq.ShortCircuit, dst[1].Health)
	assert.Equal(t, daq.Missing, dst[0].Health, "what is not healthy is not handed on")
}

// The air's pressure stands for an hour; until it was read, the usual one does.
func TestAirThatWasNotReadForLong(t *testing.T) {
	c := converter(t, broken(t, couples, "[[link]]", "[ambient]\nchannel = \"feed\"\n[[link]]",
		"[-62.5, 15.625]\nvalue_unit = \"bar\"\nraw_range = [\"4 mA\", \"20 mA\"]\nreference = \"gauge\"",
		"[0.75, 0.02]\nvalue_unit = \"bar\"\nraw_range = [\"4 mA\", \"20 mA\"]\nreference = \"absolute\"",
		"excitation = \"supply\"\nreference = \"gauge\"", "excitation = \"supply\"\nreference = \"absolute\""))
	dst, src := make([]daq.Reading, 5), said(t)
	src[4].Health = daq.Missing
	c.Convert("module", 0, dst, src)
	assert.InDelta(t, 295e5-101325, dst[2].Value, 1e-3)
	c.Convert("module", time.Second, dst, said(t))
	assert.InDelta(t, 295e5-0.99e5, dst[2].Value, 1e-3, "that of the same scan")
	c.Convert("module", time.Hour, dst, src)
	assert.InDelta(t, 295e5-0.99e5, dst[2].Value, 1e-3)
	c.Convert("module", time.Hour+2*time.Second, dst, src)
	assert.Equal(t, daq.Missing, dst[2].Health)
}

func TestWatchersOfAChannel(t *testing.T) {
	c := converter(t, couples)
	dst, src := make([]daq.Reading, 5), said(t)
	c.Convert("module", 0, dst, src)
	was := dst[0].Value
	src[0].Raw++ // 24 K
	c.Convert("module", 100*time.Millisecond, dst, src)
	assert.Equal(t, daq.TooFast, dst[0].Health)
	assert.True(t, math.IsNaN(dst[0].Value))
	assert.InDelta(t, 24, dst[0].Doubted-was, 1, "an interlock sees it")
	src[0].Raw--
	c.Convert("module", 200*time.Millisecond, dst, src)
	assert.Equal(t, daq.Healthy, dst[0].Health)
	c.Convert("module", 5*time.Minute+time.Second, dst, src)
	assert.Equal(t, daq.Stuck, dst[0].Health)
}

// law: a recorded scan converted anew is the scan that was converted, bit for
// bit.
func TestRecordedScansConvertToTheSame(t *testing.T) {
	live, again := converter(t, couples), converter(t, couples)
	dst := make([]daq.Reading, 5)
	for k := range 300 {
		at := time.Duration(k) * 100 * time.Millisecond
		src := said(t)
		for i := range src {
			src[i].Raw *= 1 + 1e-3*math.Sin(float64(k*(i+1)))
		}
		switch {
		case k%50 == 7:
			src[0].Raw += 2
		case k > 100 && k < 230:
			src[1] = daq.Signal{Raw: math.NaN(), Health: daq.Missing}
		case k%40 == 3:
			src[4].Raw = 0
		}
		live.Convert("module", at, dst, src)
		recorded := make([]daq.Reading, len(dst))
		for i, r := range dst {
			recorded[i] = daq.Reading{Raw: r.Raw, Value: r.Value}
			if i == 3 { // volts are their own raw number, and only their value is kept
				recorded[i].Raw = math.NaN()
			}
		}
		again.Reconvert("module", at, recorded)
		for i := range dst {
			require.Equal(t, dst[i].Health, recorded[i].Health, "scan %d channel %d", k, i)
			if dst[i].Health == daq.Healthy {
				require.Equal(t, dst[i].Value, recorded[i].Value)
			}
		}
	}
}

// The cold junction on another line: for the race detector.
func TestLinesShareWhatTheyNeed(t *testing.T) {
	text := broken(t, couples,
		"name = \"cold\"\nquantity = \"temperature\"\ninstrument = \"module\"", "name = \"cold\"\nquantity = \"temperature\"\ninstrument = \"second\"",
		"[[channel]]\nname = \"body\"", "[[instrument]]\nname = \"second\"\nkind = \"modbus-rtu\"\nlink = \"bus\"\naddress = 2\ninterval = \"0.1 s\"\n[[channel]]\nname = \"body\"")
	c := converter(t, text)
	var all sync.WaitGroup
	all.Go(func() {
		for k := range 500 {
			c.Convert("second", time.Duration(k)*time.Millisecond, make([]daq.Reading, 1), said(t)[1:2])
		}
	})
	for k := range 500 {
		s, dst := said(t), make([]daq.Reading, 4)
		c.Convert("module", time.Duration(k)*time.Millisecond, dst, append(s[:1:1], s[2:]...))
		if dst[0].Health == daq.Healthy {
			require.InDelta(t, 273.15+60, dst[0].Value, 1e-6)
		} else {
			require.Equal(t, daq.Missing, dst[0].Health)
		}
	}
	all.Wait()
	dst := make([]daq.Reading, 4)
	s := said(t)
	c.Convert("module", time.Second, dst, append(s[:1:1], s[2:]...))
	assert.Equal(t, daq.Healthy, dst[0].Health)
}
