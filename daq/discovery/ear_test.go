package discovery_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/discovery"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

// script is a trace in short: what went, what came, what was said of it.
type script struct {
	at      time.Duration
	sent    []byte
	came    []byte
	verdict string
}

func hear(all ...script) discovery.Heard {
	var e discovery.Ear
	start := time.Now()
	for _, s := range all {
		t := link.Traced{At: start.Add(s.at), Link: "rs485", Bytes: s.came, Verdict: s.verdict}
		if s.sent != nil {
			t.Bytes, t.Sent = s.sent, true
		}
		e.Hear(t)
	}
	return e.Line("rs485")
}

func TestEarKeepsExchanges(t *testing.T) {
	ms := time.Millisecond
	a := modbus.Request{Address: 1, Function: 4, Start: 0, Count: 2}
	b := modbus.Request{Address: 2, Function: 3, Start: 10, Count: 1}
	answer := a.Reply([]uint16{1, 2})
	h := hear(
		script{at: 0, sent: a.Frame()},
		script{at: 12 * ms, came: answer[:3]},
		script{at: 16 * ms, came: answer[3:]},
		script{at: 16 * ms, verdict: "answer"},
		script{at: 100 * ms, sent: b.Frame()},
		script{at: 200 * ms, sent: a.Frame()},
		script{at: 212 * ms, came: []byte{9, 9, 9}},
		script{at: 300 * ms, verdict: "check sum wrong"},
		script{at: 400 * ms, sent: b.Frame()},
		script{at: 410 * ms, came: b.Refusal(2)},
		script{at: 410 * ms, verdict: "exception 2, illegal data address"},
	)
	assert.Equal(t, []discovery.Exchange{
		{Sent: 0, First: 12 * ms, Last: 16 * ms, Asked: 8, Answered: 9, Address: 1},
		{Sent: 400 * ms, First: 410 * ms, Last: 410 * ms, Asked: 8, Answered: 5, Address: 2},
	}, h.Exchanges)
	assert.Len(t, h.Frames, 2)
	assert.Equal(t, 4, h.Asked)
	assert.Zero(t, h.Echoed)
	assert.Zero(t, h.Others)
	assert.Equal(t, 32, h.Sent)
	assert.Equal(t, 17, h.Came)
}

// Over Modbus TCP a question has another number each time it is asked.
func TestEarKnowsAQuestionOverTCPAgain(t *testing.T) {
	a := modbus.Request{Address: modbus.NoUnit, Function: 4, Start: 0, Count: 2}
	b := modbus.Request{Address: modbus.NoUnit, Function: 3, Start: 10, Count: 1}
	var all []script
	for i := range 6 {
		r := []modbus.Request{a, b}[i%2]
		at, n := time.Duration(i)*100*time.Millisecond, uint16(i+1)
		all = append(all, script{at: at, sent: r.Message(n)},
			script{at: at + time.Millisecond, came: r.ReplyMessage(n, make([]uint16, r.Count))},
			script{at: at + time.Millisecond, verdict: "answer"})
	}
	h := hear(all...)
	assert.Len(t, h.Exchanges, 6)
	assert.Len(t, h.Frames, 2)
}

func TestEarHearsEchoesAndOtherMasters(t *testing.T) {
	ms := time.Millisecond
	a := modbus.Request{Address: 1, Function: 4, Start: 0, Count: 2}
	foreign := modbus.Request{Address: 7, Function: 3, Start: 100, Count: 4}
	echoed := append(a.Frame(), a.Reply([]uint16{1, 2})...)
	h := hear(
		script{at: 0, sent: a.Frame()},
		script{at: 16 * ms, came: echoed},
		script{at: 16 * ms, verdict: "answer"},
		script{at: 100 * ms, sent: a.Frame()},
		script{at: 110 * ms, came: a.Frame()},
		script{at: 300 * ms, verdict: "no answer"},
	)
	assert.Equal(t, 2, h.Echoed)
	assert.Zero(t, h.Others, "it is our own question")
	assert.Equal(t, 9, h.Frames[0].Answered, "the echo is no part of the answer")

	h = hear(
		script{at: 0, came: foreign.Frame()},
		script{at: 50 * ms, sent: a.Frame()},
		script{at: 60 * ms, came: append(foreign.Frame(), 1, 2, 3)},
		script{at: 60 * ms, verdict: "check sum wrong"},
	)
	assert.Equal(t, 2, h.Others)
	assert.Zero(t, h.Echoed)

	write := append([]byte{}, a.Frame()...)
	write[1] = 6
	h = hear(script{at: 0, sent: write}, script{at: 9 * ms, came: write}, script{at: 9 * ms, verdict: "answer"})
	assert.Zero(t, h.Echoed, "what is written comes back as the answer")
	assert.Len(t, h.Exchanges, 1)
}

func TestEarCountsWhatCanBeRead(t *testing.T) {
	h := hear(script{came: []byte("21.5;22.0\r\n")}, script{came: []byte{0x80, 0xff, 0}})
	assert.Equal(t, 14, h.Came)
	assert.Equal(t, 11, h.Legible)
	assert.Empty(t, h.Exchanges)
}

// The first eight bytes of this answer to a request of two registers have a
// sound check sum of their own, as those of every 256th do.
func TestEarTakesNoAnswerForAQuestionOfOthers(t *testing.T) {
	ms := time.Millisecond
	a := modbus.Request{Address: 1, Function: 3, Start: 10, Count: 2}
	answer := a.Reply([]uint16{0xd449, 0xbc32})
	_, err := modbus.ParseRequest(answer[:8])
	require.NoError(t, err, "else this tests nothing")
	h := hear(
		script{at: 0, sent: a.Frame()},
		script{at: 10 * ms, came: answer},
		script{at: 10 * ms, verdict: "answer"},
	)
	assert.Zero(t, h.Others)
	assert.Len(t, h.Exchanges, 1)

	late := modbus.Request{Address: 2, Function: 4, Start: 0, Count: 1}
	h = hear(
		script{at: 0, sent: late.Frame()},
		script{at: 10 * ms, came: append(answer, late.Reply([]uint16{7})...)},
		script{at: 10 * ms, verdict: "answer"},
	)
	assert.Zero(t, h.Others, "the late answer to an earlier question")
}

// Modbus TCP has no check sum, and its connection nobody else on it.
func TestEarHearsNoOthersOverTCP(t *testing.T) {
	a := modbus.Request{Address: 1, Function: 4, Start: 0, Count: 6}
	foreign := modbus.Request{Address: 7, Function: 3, Start: 100, Count: 4}.Frame()
	message := a.ReplyMessage(1, make([]uint16, a.Count))
	copy(message[9:], foreign) // figures that look like a frame of a serial line
	h := hear(script{sent: a.Message(1)}, script{came: message}, script{verdict: "answer"})
	assert.Zero(t, h.Others)
	assert.Len(t, h.Exchanges, 1)
}
