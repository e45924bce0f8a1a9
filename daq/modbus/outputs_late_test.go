package modbus_test

import (
	"errors"
	"fmt"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"holdbench/daq"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

// relays is a module that has just the coils of its outputs. It does what it
// is asked in order.
type relays struct {
	daqtest.Slave
	silent     bool // refuses by silence
	unreadable bool // lets nobody read
	free       time.Time
	mu         sync.Mutex // of Coils
}

// coil says how a coil is now.
func (m *relays) coil(register uint16) uint16 {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.Coils[register]
}

// mishap is what befalls one request.
type mishap struct {
	unheard, unsaid bool
	delay           time.Duration
}

func (m *relays) heard(cable *daqtest.Cable, request []byte, how mishap) {
	if how.unheard {
		return
	}
	if now := time.Now(); m.free.Before(now) {
		m.free = now
	}
	m.free = m.free.Add(how.delay + time.Millisecond)
	time.AfterFunc(time.Until(m.free), func() {
		r, err := modbus.ParseRequest(request)
		if err != nil {
			return
		}
		m.mu.Lock()
		reply := m.Answer(request)
		m.mu.Unlock()
		if m.unreadable && !r.Writes() {
			reply = r.Refusal(modbus.IllegalFunction)
		}
		if !how.unsaid && (!m.silent || reply[1]&0x80 == 0) {
			cable.Send(reply)
		}
	})
}

// on a bubble's cable: the module, and a master's outputs.
func (m *relays) wired(t *testing.T, how func(n int) mishap, test func(client *modbus.Client, pump *modbus.Outputs)) {
	cable := &daqtest.Cable{}
	n := -1
	cable.Heard = func(b []byte) {
		n++
		m.heard(cable, b, how(n))
	}
	port := cable.Port(t, link.Config{Port: "memory", Baud: 9600, Timeout: deadline})
	client := modbus.NewClient(port, daq.NewWallClock())
	test(client, modbus.NewOutputs(client, m.Address, outputs))
	time.Sleep(time.Minute)
}

func newRelays() *relays {
	return &relays{Slave: daqtest.Slave{Address: 17, Coils: map[uint16]uint16{3: 1, 4: 0}}}
}

// A pump is to be stopped on a module that has nothing but its outputs, and
// refuses more by an exception or by silence, while some answers are lost or
// late. It takes a few time-outs beside those that the module itself takes.
func TestPumpIsSwitchedOffBehindLateAnswers(t *testing.T) {
	for _, silent := range []bool{false, true} {
		for name, how := range map[string]mishap{"unheard": {unheard: true}, "unsaid": {unsaid: true},
			"late": {delay: deadline + 50*time.Millisecond}, "very late": {delay: 5 * deadline}} {
			for first := range 4 {
				for length := 1; length <= 3; length++ {
					t.Run(fmt.Sprintf("silent %v, %s, %d from %d", silent, name, length, first), func(t *testing.T) {
						synctest.Test(t, func(t *testing.T) {
							m := newRelays()
							m.silent = silent
							m.wired(t, func(n int) mishap {
								if n < first || n >= first+length {
									return mishap{}
								}
								return how
							}, func(client *modbus.Client, pump *modbus.Outputs) {
								state := modbus.Request{Address: 17, Function: modbus.ReadCoils, Start: 3, Count: 1}
								for range 2 {
									_, _ = client.Do(t.Context(), state) // whichever way it ends
								}
								began := time.Now()
								err := errors.New("not tried")
								for tries := 0; err != nil && tries < 12; tries++ {
									err = pump.Drive(t.Context(), 0, false)
								}
								require.NoError(t, err)
								require.Zero(t, m.coil(3))
								require.Less(t, time.Since(began), time.Duration(2*length+5)*deadline+time.Duration(length)*how.delay)
							})
						})
					})
				}
			}
		}
	}
}

// Whatever is lost or late, what is said of an output is true: driven, or not;
// otherwise nobody knows.
func TestWhatIsSaidOfAnOutputIsTrue(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		m := newRelays()
		m.silent, m.unreadable = rapid.Bool().Draw(r, "silent"), rapid.Bool().Draw(r, "unreadable")
		mishaps := rapid.SliceOfN(rapid.Custom(func(r *rapid.T) mishap {
			switch rapid.IntRange(0, 5).Draw(r, "kind") {
			case 0:
				return mishap{unheard: true}
			case 1:
				return mishap{unsaid: true}
			case 2, 3:
				return mishap{delay: time.Duration(rapid.IntRange(1, 60).Draw(r, "late")) * deadline / 10}
			}
			return mishap{}
		}), 0, 20).Draw(r, "mishaps")
		steps := rapid.SliceOfN(rapid.IntRange(0, 4), 1, 12).Draw(r, "steps")
		failed := ""
		synctest.Test(t, func(t *testing.T) {
			m.wired(t, func(n int) mishap {
				if n < len(mishaps) {
					return mishaps[n]
				}
				return mishap{}
			}, func(client *modbus.Client, pump *modbus.Outputs) {
				for n, step := range steps {
					if step == 4 {
						_, _ = client.Do(t.Context(), modbus.Request{Address: 17, Function: modbus.ReadCoils, Start: 3, Count: 1})
						continue
					}
					on := step%2 == 1
					err := pump.Drive(t.Context(), 0, on)
					is := m.coil(3) == 1
					if err == nil && is != on || errors.Is(err, modbus.ErrNotDriven) && is == on {
						failed = fmt.Sprintf("step %d: to be %v, is %v: %v", n, on, is, err)
						return
					}
				}
			})
		})
		if failed != "" {
			r.Fatal(failed)
		}
	})
}

// A module that lets nobody read its outputs is taken at its word, but not at
// one that it gave to an earlier command: that one's answer comes while the
// last command, which never arrived, is waited for.
func TestLateAnswerToAnEarlierCommandConfirmsNothing(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		m := newRelays()
		m.unreadable = true
		mishaps := []mishap{{delay: 17 * deadline / 2}, {unheard: true}, {unsaid: true}, {unheard: true}, {unheard: true}}
		m.wired(t, func(n int) mishap {
			if n < len(mishaps) {
				return mishaps[n]
			}
			return mishap{}
		}, func(_ *modbus.Client, pump *modbus.Outputs) {
			require.ErrorIs(t, pump.Drive(t.Context(), 0, false), modbus.ErrUnknown)
			require.ErrorIs(t, pump.Drive(t.Context(), 0, true), modbus.ErrUnknown)
			require.ErrorIs(t, pump.Drive(t.Context(), 0, false), modbus.ErrUnknown)
			require.EqualValues(t, 1, m.Coils[3], "it runs")
			err := errors.New("not tried")
			for tries := 0; err != nil && tries < 4; tries++ {
				err = pump.Drive(t.Context(), 0, false)
			}
			require.NoError(t, err)
			require.Zero(t, m.coil(3))
		})
	})
}
