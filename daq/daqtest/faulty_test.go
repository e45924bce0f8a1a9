package daqtest_test

import (
	"bytes"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/daqtest"
	"holdbench/daq/link"
)

// over says the same thing a thousand times over a line with that fault and
// returns what comes out, and how often something was harmed.
func over(t *testing.T, fault daqtest.Fault, rate float64, said string) (heard []byte, harmed int) {
	synctest.Test(t, func(t *testing.T) {
		cable := &daqtest.Cable{}
		port := cable.Port(t, link.Config{Port: "memory"})
		line := &daqtest.Faulty{Cable: cable, Fault: fault, Rate: rate, Character: time.Millisecond,
			Latest: time.Second, Other: bytes.ToUpper}
		line.Seed(1)
		var piece [4096]byte
		for range 1000 {
			line.Say([]byte(said))
			for {
				n, err := port.Read(t.Context(), piece[:], time.Now().Add(3*time.Second))
				if err != nil {
					break
				}
				heard = append(heard, piece[:n]...)
			}
		}
		_, harmed = line.Counts()
	})
	return heard, harmed
}

func TestFaultyLineHarmsTheShareThatItIsToldTo(t *testing.T) {
	const said = "a sentence"
	whole := bytes.Repeat([]byte(said), 1000)
	for _, fault := range daqtest.Faults {
		t.Run(fault.Name, func(t *testing.T) {
			heard, harmed := over(t, fault, 0, said)
			assert.Equal(t, whole, heard)
			assert.Zero(t, harmed)
			heard, harmed = over(t, fault, 0.1, said)
			assert.InDelta(t, 100, harmed, 30)
			switch fault.Name {
			case daqtest.Delayed.Name, daqtest.Dribbled.Name:
				assert.Equal(t, whole, heard, "nothing is lost, and the order is kept")
			case daqtest.Lost.Name:
				assert.Len(t, heard, len(whole)-harmed*len(said))
			case daqtest.Duplicated.Name, daqtest.Interleaved.Name:
				assert.Len(t, heard, len(whole)+harmed*len(said))
			case daqtest.Foreign.Name:
				assert.Equal(t, harmed, bytes.Count(heard, []byte("A SENTENCE")))
			default:
				assert.NotEqual(t, whole, heard)
				assert.Greater(t, bytes.Count(heard, []byte(said)), 850)
			}
		})
	}
}

func TestFaultyLineIsTheSameForTheSameSeed(t *testing.T) {
	first, _ := over(t, daqtest.Interleaved, 0.5, "a sentence")
	again, _ := over(t, daqtest.Interleaved, 0.5, "a sentence")
	assert.Equal(t, first, again)
}

func TestResampleIsWhatAReceiverHears(t *testing.T) {
	said := []byte("U holds 12.5\r\n")
	assert.Equal(t, said, daqtest.Resample(said, 9600, 9600))
	assert.Equal(t, said, daqtest.Resample(said, 9600, 9700), "one per cent off is nothing")
	for _, baud := range []int{4800, 19200, 2400, 115200} {
		heard := daqtest.Resample(said, 9600, baud)
		require.NotEmpty(t, heard)
		assert.NotContains(t, string(heard), "12.5", "%d", baud)
	}
	// Nine low bits are eighteen at twice the rate: a start bit and eight zeros.
	assert.Equal(t, byte(0), daqtest.Resample([]byte{0x00}, 9600, 19200)[0])
}
