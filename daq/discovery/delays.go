package discovery

import (
	"math"
	"math/cmplx"
	"slices"
	"time"
)

// Exchange is one request on a line and what came after it.
type Exchange struct {
	// Sent is when the request was handed to the system, First and Last when
	// the first and the last bytes of the answer came out of it.
	Sent, First, Last time.Duration
	// Asked and Answered are the lengths of request and answer.
	Asked, Answered int
	// Address is the first byte of the request: of Modbus RTU the slave.
	Address byte
}

// Delays say where the time of a line's exchanges goes. An exchange takes its
// characters' time on the wire and, besides, what the module takes to answer
// and what the adapter holds back.
type Delays struct {
	// Exchanges is how many were looked at; with none, everything else is 0.
	Exchanges int
	// Wire is the time of the characters of an exchange, the mean.
	Wire time.Duration
	// Besides is what an exchange took besides: the median, and what nine in
	// ten were between.
	Besides, BesidesLow, BesidesHigh time.Duration
	// Timer is the adapter's latency timer, 0 when there is none to be seen;
	// Seen says that the answers themselves came in its step, so that it was
	// not only told by the system.
	Timer time.Duration
	Seen  bool
	// Told says that module and adapter could be told apart: the module
	// answers after Module, somewhere between ModuleLow and ModuleHigh. Where
	// not, only Besides is known of them together.
	Told                          bool
	Module, ModuleLow, ModuleHigh time.Duration
}

// few is how many exchanges are too few to say where their time goes.
const few = 8

// Part says where the time of exchanges goes. character is the time of one
// character on the line. timer is the adapter's latency timer where the
// system tells it (known), else it is looked for: an adapter with a timer
// hands bytes on when the timer expires, so that answers come in its step
// while questions do not. For that the questions must not be asked in step
// themselves; where they are, or where there are too few, nothing is told
// apart.
//
// That a timer runs freely and that a full packet does not wait for it is
// common practice; there is no source.
func Part(exchanges []Exchange, character time.Duration, timer time.Duration, known bool) Delays {
	d := Delays{Exchanges: len(exchanges)}
	if d.Exchanges == 0 {
		return d
	}
	besides := make([]time.Duration, len(exchanges))
	var wire time.Duration
	for i, e := range exchanges {
		on := time.Duration(e.Asked+e.Answered) * character
		wire += on
		besides[i] = max(0, e.Last-e.Sent-on)
	}
	d.Wire = wire / time.Duration(len(exchanges))
	slices.Sort(besides)
	d.Besides = quantile(besides, 0.5)
	d.BesidesLow, d.BesidesHigh = quantile(besides, 0.05), quantile(besides, 0.95)
	if d.Exchanges < few {
		return d
	}
	if !known {
		timer = 0
	}
	d.Timer = timer
	if step := stepOfArrivals(exchanges, character); step > 0 {
		d.Timer, d.Seen = step, true
	}
	d.tell(known, mean(besides))
	return d
}

// slack is how far a computer's own doings spread an exchange, so that bounds
// tighter than that mean nothing.
const slack = time.Millisecond

// tell parts module and adapter, where that can be done.
func (d *Delays) tell(known bool, mean time.Duration) {
	between := func(low, middle, high time.Duration) {
		d.Told = true
		d.ModuleLow, d.ModuleHigh = max(0, low), max(0, high)
		d.Module = max(d.ModuleLow, min(d.ModuleHigh, middle))
	}
	switch {
	case d.Seen:
		// A module that always answers alike is quicker than the quickest
		// exchange and slower than the slowest less a whole timer; one that
		// does not is somewhere between the two, the other way round.
		a, b := d.BesidesHigh-d.Timer, d.BesidesLow
		between(min(a, b), mean-d.Timer/2, max(a, b))
	case known && d.Timer <= slack, d.Besides <= 2*slack:
		// What is held back is at most about as long as what cannot be seen.
		between(d.BesidesLow-d.Timer, d.Besides-d.Timer/2, d.BesidesHigh)
	case known && d.BesidesHigh < d.Timer-slack && d.BesidesHigh-d.BesidesLow < d.Timer/4:
		// Answers come sooner than the timer would let them: it does not act.
		between(d.BesidesLow, d.Besides, d.BesidesHigh)
	}
}

// The latency timers that adapters have, in whole steps of step.
const (
	step        = time.Millisecond
	shortestLag = 2 * time.Millisecond
	longestLag  = 64 * time.Millisecond
)

// stepOfArrivals looks for a timer in whose step the answers come. It is 0
// when there is none, or when the questions came in that step as well.
func stepOfArrivals(exchanges []Exchange, character time.Duration) time.Duration {
	for lag := longestLag; lag >= shortestLag; lag -= step {
		arrived := scatter(exchanges, lag, func(e Exchange) time.Duration { return e.Last })
		ready := scatter(exchanges, lag, func(e Exchange) time.Duration {
			return e.Sent + time.Duration(e.Asked+e.Answered)*character
		})
		if arrived < max(lag/16, slack/2) && ready > lag/6 && ready > 3*arrived {
			return lag
		}
	}
	return 0
}

// scatter is how far instants are off a common step, as the standard
// deviation of what is left when whole steps are taken away, on the circle.
// Some late ones must not hide the step of the others: the worst tenth is
// left out.
func scatter(exchanges []Exchange, lag time.Duration, at func(Exchange) time.Duration) time.Duration {
	turns := make([]complex128, len(exchanges))
	for i, e := range exchanges {
		turns[i] = cmplx.Rect(1, 2*math.Pi*float64(at(e)%lag)/float64(lag))
	}
	middle := sum(turns)
	slices.SortFunc(turns, func(a, b complex128) int {
		switch x, y := real(a*cmplx.Conj(middle)), real(b*cmplx.Conj(middle)); {
		case x > y:
			return -1
		case x < y:
			return 1
		}
		return 0
	})
	turns = turns[:len(turns)-len(turns)/10]
	together := cmplx.Abs(sum(turns)) / float64(len(turns))
	if together >= 1 {
		return 0
	}
	return time.Duration(math.Sqrt(-2*math.Log(together)) / (2 * math.Pi) * float64(lag))
}

func sum(all []complex128) complex128 {
	var s complex128
	for _, x := range all {
		s += x
	}
	return s
}

// quantile of sorted durations, the nearest one.
func quantile(sorted []time.Duration, q float64) time.Duration {
	return sorted[int(math.Round(q*float64(len(sorted)-1)))]
}

func mean(all []time.Duration) time.Duration {
	var s time.Duration
	for _, x := range all {
		s += x
	}
	return s / time.Duration(len(all))
}
