package textline_test

import (
	"fmt"
	"strings"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq"
	"holdbench/daq/daqtest"
	"holdbench/daq/link"
	"holdbench/daq/textline"
)

// meter is an instrument that answers on a cable: text by query, after a while.
type meter struct {
	cable   *daqtest.Cable
	replies map[string]string
	delay   time.Duration
	heard   []string
	pending string
	free    time.Time // when it has answered all that it was asked
}

func newMeter(cable *daqtest.Cable) *meter {
	m := &meter{cable: cable, replies: map[string]string{}}
	cable.Heard = func(b []byte) {
		m.pending += string(b)
		for {
			line, rest, ok := strings.Cut(m.pending, "\n")
			if !ok {
				return
			}
			m.pending = rest
			m.heard = append(m.heard, line)
			if reply, ok := m.replies[line]; ok { // one after the other
				if now := time.Now(); m.free.Before(now) {
					m.free = now
				}
				m.free = m.free.Add(max(m.delay, time.Millisecond))
				cable.SendAfter(time.Until(m.free), []byte(reply))
			}
		}
	}
	return m
}

const (
	identity = "Example,TX-2,0042,1.3"
	stranger = "Example,TX-2,0043,1.3"
)

var pressureQuery = textline.Query{Text: "MEAS?", Fields: []textline.Field{{Column: 1}}, Signals: []int{0}}

func askConfig() textline.AskConfig {
	return textline.AskConfig{Name: "meter", Format: textline.Format{Separator: ","}, Queries: []textline.Query{pressureQuery}, Identify: "*IDN?"}
}

// onCable runs a test with a meter and an instrument that asks it.
func onCable(t *testing.T, c textline.AskConfig, test func(t *testing.T, m *meter, a *textline.Asked, d *textline.Dialogue, port *link.Port)) {
	synctest.Test(t, func(t *testing.T) {
		cable := &daqtest.Cable{}
		port := cable.Port(t, link.Config{Port: "memory", Timeout: 300 * time.Millisecond})
		d := textline.NewDialogue(port, daq.NewWallClock())
		m := newMeter(cable)
		m.replies["*IDN?"] = identity + "\n"
		m.replies["MEAS?"] = "+12.50\n"
		test(t, m, textline.NewAsked(d, c), d, port)
	})
}

func sample(t *testing.T, a *textline.Asked, n int) ([]daq.Signal, error) {
	dst := make([]daq.Signal, n)
	err := a.Sample(t.Context(), dst)
	return dst, err
}

func TestAskedSaysWhatItIsOnceAndIsSetUp(t *testing.T) {
	c := askConfig()
	c.Setup = []string{"*CLS", "CONF:PRES"}
	onCable(t, c, func(t *testing.T, m *meter, a *textline.Asked, _ *textline.Dialogue, port *link.Port) {
		for range 3 {
			got, err := sample(t, a, 1)
			require.NoError(t, err)
			assert.Equal(t, []daq.Signal{{Raw: 12.5}}, got)
		}
		assert.Equal(t, []string{"*CLS", "CONF:PRES", "*IDN?", "*IDN?", "MEAS?", "MEAS?", "MEAS?"}, m.heard)
		assert.Equal(t, []daq.Event{{Kind: daq.Note, Subject: "identity of meter", Text: identity}}, a.News())
		assert.Empty(t, a.News())

		// The same instrument is plugged in again, then another one.
		m.cable.Pull()
		_, err := sample(t, a, 1)
		require.ErrorIs(t, err, link.ErrGone)
		m.cable.Plug()
		require.NoError(t, port.Reopen())
		_, err = sample(t, a, 1)
		require.NoError(t, err)
		assert.Equal(t, []daq.Event{{Kind: daq.Note, Subject: "identity of meter", Text: identity}}, a.News())
		assert.Equal(t, 2, strings.Count(strings.Join(m.heard, " "), "CONF:PRES"))

		m.cable.Pull()
		_, err = sample(t, a, 1)
		require.ErrorIs(t, err, link.ErrGone)
		m.cable.Plug()
		require.NoError(t, port.Reopen())
		m.replies["*IDN?"] = stranger + "\n"
		for range 3 { // nothing is read of it
			got, err := sample(t, a, 1)
			require.ErrorIs(t, err, textline.ErrOther)
			require.ErrorIs(t, err, link.ErrTimeout)
			require.ErrorContains(t, err, `another instrument answers: "Example,TX-2,0043,1.3", where "Example,TX-2,0042,1.3" was`)
			assert.Equal(t, daq.Missing, got[0].Health)
		}
		assert.Equal(t, []daq.Event{{Kind: daq.Fault, Subject: "meter",
			Text: `another instrument answers: "Example,TX-2,0043,1.3", where "Example,TX-2,0042,1.3" was; nothing is read of it`}}, a.News(), "said once")
		assert.Equal(t, identity, a.Identity())

		// Plugged in again where it belongs, it is read on.
		m.replies["*IDN?"] = identity + "\n"
		got, err := sample(t, a, 1)
		require.NoError(t, err)
		assert.Equal(t, []daq.Signal{{Raw: 12.5}}, got)
		assert.Equal(t, []daq.Event{{Kind: daq.Note, Subject: "identity of meter", Text: identity}}, a.News())
	})
}

// One garbled identity makes no other instrument.
func TestIdentityIsBelievedWhenItWasSaidTwice(t *testing.T) {
	onCable(t, askConfig(), func(t *testing.T, m *meter, a *textline.Asked, _ *textline.Dialogue, port *link.Port) {
		_, err := sample(t, a, 1)
		require.NoError(t, err)
		m.cable.Pull()
		_, err = sample(t, a, 1)
		require.ErrorIs(t, err, link.ErrGone)
		m.cable.Plug()
		require.NoError(t, port.Reopen())
		heard := m.cable.Heard
		m.replies["*IDN?"] = stranger + "\n"
		m.cable.Heard = func(b []byte) {
			heard(b)
			m.replies["*IDN?"] = identity + "\n" // from the second time on
		}
		_, err = sample(t, a, 1)
		require.NoError(t, err)
		for _, e := range a.News() {
			assert.NotEqual(t, daq.Fault, e.Kind)
		}
	})
}

// The bench file may say which instrument it must be: a wrong one is never
// read, nor one that does not say what it is.
func TestAskedInstrumentMustBeTheOneThatIsMeant(t *testing.T) {
	c := askConfig()
	c.Identity = "TX-2,0042"
	for name, want := range map[string]error{identity: nil, stranger: textline.ErrOther, "": textline.ErrNoReply} {
		t.Run(name, func(t *testing.T) {
			onCable(t, c, func(t *testing.T, m *meter, a *textline.Asked, _ *textline.Dialogue, _ *link.Port) {
				if m.replies["*IDN?"] = name + "\n"; name == "" {
					delete(m.replies, "*IDN?")
				}
				for range 2 {
					_, err := sample(t, a, 1)
					require.ErrorIs(t, err, want)
					time.Sleep(5 * time.Second)
				}
				asked := strings.Contains(strings.Join(m.heard, " "), "MEAS?")
				assert.Equal(t, want == nil, asked, "it is asked for readings")
				if want == textline.ErrOther {
					assert.Equal(t, []daq.Event{{Kind: daq.Fault, Subject: "meter",
						Text: `another instrument answers: "Example,TX-2,0043,1.3", where one with "TX-2,0042" is meant; nothing is read of it`}}, a.News())
				}
			})
		})
	}
}

func TestAskedWithoutAnIdentityIsReadNevertheless(t *testing.T) {
	onCable(t, askConfig(), func(t *testing.T, m *meter, a *textline.Asked, _ *textline.Dialogue, _ *link.Port) {
		delete(m.replies, "*IDN?")
		for range 3 {
			got, err := sample(t, a, 1)
			require.NoError(t, err)
			assert.Equal(t, 12.5, got[0].Raw)
		}
		assert.Equal(t, []string{"*IDN?", "MEAS?", "MEAS?", "MEAS?"}, m.heard)
		assert.Equal(t, []daq.Event{{Kind: daq.Note, Subject: "identity of meter", Text: "no answer to *IDN?"}}, a.News())
	})
}

// Whatever the delay, a value never comes under another query's name, nor one
// that was asked for earlier.
func TestLateReplyIsNeverTheAnswerToTheNextQuery(t *testing.T) {
	c := askConfig()
	c.Queries = append(c.Queries, textline.Query{Text: "TEMP?", Fields: []textline.Field{{Column: 1}}, Signals: []int{1}})
	for delay := 100 * time.Millisecond; delay < 5*time.Second; delay += 130 * time.Millisecond {
		t.Run(delay.String(), func(t *testing.T) {
			onCable(t, c, func(t *testing.T, m *meter, a *textline.Asked, d *textline.Dialogue, _ *link.Port) {
				m.replies["TEMP?"] = "21.0\n"
				_, err := sample(t, a, 2)
				require.NoError(t, err)
				for k := range 30 {
					if m.delay = 0; k%7 == 2 || k > 20 {
						m.delay = delay
					}
					// The value that is true while this sample is under way.
					p, temperature := 100+float64(k)/8, 20+float64(k)/16
					m.replies["MEAS?"] = fmt.Sprintf("%.4f\n", p)
					m.replies["TEMP?"] = fmt.Sprintf("%.4f\n", temperature)
					got, err := sample(t, a, 2)
					if err != nil {
						require.ErrorIs(t, err, link.ErrTimeout)
					}
					if got[0].Health == daq.Healthy {
						assert.Equal(t, p, got[0].Raw, "sample %d", k)
					}
					if got[1].Health == daq.Healthy {
						assert.Equal(t, temperature, got[1].Raw, "sample %d", k)
					}
					time.Sleep(200 * time.Millisecond)
				}
				if delay > 300*time.Millisecond {
					assert.Positive(t, d.Counts().Late)
				}
			})
		})
	}
}

func TestSeveralAskedInstrumentsShareALine(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		cable := &daqtest.Cable{}
		port := cable.Port(t, link.Config{Port: "memory", Timeout: 300 * time.Millisecond})
		d := textline.NewDialogue(port, daq.NewWallClock())
		m := newMeter(cable)
		var all []*textline.Asked
		for i := 1; i <= 3; i++ {
			address := fmt.Sprintf("#%02d", i)
			m.replies[address+"P"] = fmt.Sprintf(">%02d=%d.25\r\n", i, i)
			all = append(all, textline.NewAsked(d, textline.AskConfig{
				Name: address, Format: textline.Format{Prefix: fmt.Sprintf(">%02d=", i)},
				Queries: []textline.Query{{Text: address + "P", Fields: []textline.Field{{Column: 1}}, Signals: []int{0}}},
			}))
		}
		for range 3 {
			for i, a := range all {
				got, err := sample(t, a, 1)
				require.NoError(t, err)
				assert.Equal(t, float64(i+1)+0.25, got[0].Raw)
			}
		}
		// One that answers for another is not believed.
		m.replies["#02P"] = ">03=3.25\r\n"
		_, err := sample(t, all[1], 1)
		require.ErrorIs(t, err, textline.ErrGarbled)
	})
}

func TestAskedRepliesThatCannotBeUsed(t *testing.T) {
	for name, c := range map[string]struct {
		reply string
		want  error
	}{
		"a block":                       {"#15HELLO\n", textline.ErrBlock},
		"a block with a line end in it": {"#210AB\nDE+1.0J\n", textline.ErrBlock},
		"words":                         {"error 113, undefined header\n", textline.ErrGarbled},
		"half a reply":                  {"+12.", textline.ErrGarbled},
		"noise":                         {"\x8b\xfe\x01", textline.ErrGarbled},
		"only its echo":                 {"MEAS?\r\n", textline.ErrNoReply},
		"nothing at all":                {"", textline.ErrNoReply},
	} {
		t.Run(name, func(t *testing.T) {
			onCable(t, askConfig(), func(t *testing.T, m *meter, a *textline.Asked, _ *textline.Dialogue, _ *link.Port) {
				m.replies["MEAS?"] = c.reply
				_, err := sample(t, a, 1)
				require.ErrorIs(t, err, c.want)
				require.ErrorIs(t, err, link.ErrTimeout)
				m.replies["MEAS?"] = "MEAS?\n+12.50\n" // with an echo
				got, err := sample(t, a, 1)
				require.NoError(t, err)
				assert.Equal(t, 12.5, got[0].Raw)
			})
		})
	}
}

func TestChannelsOfOneQueryShareItsReply(t *testing.T) {
	c := askConfig()
	c.Queries = []textline.Query{{Text: "READ?", Fields: []textline.Field{{Column: 2}, {Column: 1}}, Signals: []int{0, 2}},
		{Text: "TEMP?", Fields: []textline.Field{{Column: 1}}, Signals: []int{1}}}
	onCable(t, c, func(t *testing.T, m *meter, a *textline.Asked, _ *textline.Dialogue, _ *link.Port) {
		m.replies["READ?"] = "1.5,+9.9E37\n"
		m.replies["TEMP?"] = "9.91E37\n"
		got, err := sample(t, a, 3)
		require.NoError(t, err)
		assert.Equal(t, []daq.Health{daq.OverRange, daq.Invalid, daq.Healthy}, []daq.Health{got[0].Health, got[1].Health, got[2].Health})
		assert.Equal(t, 1.5, got[2].Raw)

		// A query without a reply leaves its own signals Missing.
		delete(m.replies, "TEMP?")
		got, err = sample(t, a, 3)
		require.NoError(t, err)
		assert.Equal(t, daq.Missing, got[1].Health)
		assert.Equal(t, 1.5, got[2].Raw)
		require.ErrorIs(t, a.Unanswered(), textline.ErrNoReply)
	})
}

func TestReplyThatLostACharacterIsAskedForAgain(t *testing.T) {
	onCable(t, askConfig(), func(t *testing.T, m *meter, a *textline.Asked, d *textline.Dialogue, _ *link.Port) {
		m.replies["MEAS?"] = "112.34\n"
		_, err := sample(t, a, 1)
		require.NoError(t, err)
		heard := m.cable.Heard
		m.cable.Heard = func(b []byte) {
			m.replies["MEAS?"] = "112.34\n"
			if d.Counts().Queries%2 == 0 {
				m.replies["MEAS?"] = "12.34\n"
			}
			heard(b)
		}
		for range 4 {
			got, err := sample(t, a, 1)
			require.NoError(t, err)
			assert.Equal(t, 112.34, got[0].Raw)
		}
		assert.Positive(t, d.Counts().Doubted)
		// One that stays is true.
		m.cable.Heard = heard
		m.replies["MEAS?"] = "0.12\n"
		got, err := sample(t, a, 1)
		require.NoError(t, err)
		assert.Equal(t, 0.12, got[0].Raw)
	})
}
