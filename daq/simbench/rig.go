// Package simbench knows a bench that is not there: the physics of a trapped
// volume, and instruments that answer on real ttys or TCP ports as real ones
// would, so that the program under test cannot tell the difference.
//
// The physics is its own on purpose: it shares nothing with the models by
// which a hold is judged, so that a mistake in one of them shows. Frames of
// Modbus are shared with the program and prove nothing about frames.
//
// Conventions: SI throughout; pressure gauge; times in s in the physics,
// time.Duration of the clock at the edges. All figures of units and benches
// are invented.
//
// Sources:
//
//	[1] mass balance of a sealed liquid, dp/dt = K·(α·dT/dt − Q/V − s): any
//	    textbook of hydraulics; adiabatic warming ΔT = T·α·Δp/(ρ·c_p), about
//	    1.3 K for oil and 100 bar.
package simbench

import (
	"fmt"
	"math"
	"sync"
	"time"

	"holdbench/daq"
	"holdbench/daq/bench"
)

// step is the internal step of the physics: readings at any times, in any
// pattern, see the same state.
const step = 10 * time.Millisecond

// standardAtmosphere in Pa absolute, where the bench file gives none.
const standardAtmosphere = 101325

// Truth is what is mounted on the simulated bench, and how well its
// instruments see it.
type Truth struct {
	// Circuit is the truth about every circuit that Circuits does not name.
	Circuit  Circuit
	Circuits map[string]Circuit
	// Temperature of the body of the unit.
	Temperature Programme
	// ProbeLag is the time constant in s with which the probe follows the
	// body.
	ProbeLag float64
	Sensors  Sensors
}

func (t Truth) circuit(name string) Circuit {
	if c, ok := t.Circuits[name]; ok {
		return c
	}
	return t.Circuit
}

// Rig is a simulated bench: physics, instruments and the operator's hands.
// Its methods may be called from several goroutines.
type Rig struct {
	bench *bench.Bench
	clock daq.Clock
	seed  uint64
	views []view // by channel of the bench

	mu       sync.Mutex
	truth    Truth
	steps    int64 // done since the clock's start
	warmth   warmth
	flows    []flow // by key
	sensors  []noisy
	wrong    []wrong // by channel of the bench
	seen     snapshot
	sockets  map[string]socket // by link, while served
	ambience float64           // Pa absolute
	cells    map[cell]uint16   // what programs have written into the modules

	watchdogs []*watchdog
}

// snapshot is the state at one instant, between two steps.
type snapshot struct {
	at     time.Duration
	fresh  bool
	warmth warmth
	flows  []flow
}

// New returns a rig for a bench, with what its [simulated] table asks for
// (see DefaultTruth) mounted and nothing pumped up. The same bench, clock
// times and seed give the same readings.
func New(b *bench.Bench, clock daq.Clock, seed uint64) (*Rig, error) {
	r := &Rig{bench: b, clock: clock, seed: seed, ambience: standardAtmosphere, sockets: map[string]socket{}, cells: newCells(b), watchdogs: newWatchdogs(b)}
	if p := b.Ambient.Pressure.Value; p > 0 {
		r.ambience = p
	}
	if err := r.wireViews(); err != nil {
		return nil, fmt.Errorf("simulated bench %q: %w", b.Name, err)
	}
	r.wrong = wrongTransducers(b)
	if err := r.checkTexts(); err != nil {
		return nil, fmt.Errorf("simulated bench %q: %w", b.Name, err)
	}
	r.Mount(DefaultTruth(b))
	return r, nil
}

// Mount puts another unit on the bench, now: no pressure, valve open, its
// temperature programme as if running for long. It panics if a circuit's
// stiffness or test pressure is not above zero.
func (r *Rig) Mount(t Truth) {
	r.mu.Lock()
	defer r.mu.Unlock()
	now := r.settleTo(r.clock.Now())
	r.truth = t
	r.warmth.begin(t.Temperature, now, t.ProbeLag)
	r.flows = r.flows[:0]
	for _, p := range r.bench.Positions {
		for _, c := range p.Circuits {
			r.flows = append(r.flows, mounted(t.circuit(c.Name), r.warmth, now))
		}
	}
	if len(r.flows) == 0 {
		r.flows = append(r.flows, mounted(t.Circuit, r.warmth, now))
	}
	r.sensors = newSensors(r.views, r.bench.Ambient.Channel, t.Sensors, r.seed)
	r.seen.fresh = false
}

func mounted(c Circuit, w warmth, now float64) flow {
	if !(c.Stiffness > 0) || !(c.TestPressure > 0) {
		panic("simbench: stiffness and test pressure of a circuit must be above zero")
	}
	return newFlow(c, w.body, w.programme.Rate, now)
}

// settleTo carries the physics to the last whole step at or before at and
// returns that time in s. It needs r.mu.
func (r *Rig) settleTo(at time.Duration) float64 {
	for r.steps < int64(at/step) {
		r.carry(&r.warmth, r.flows, float64(r.steps)*step.Seconds(), step.Seconds())
		r.steps++
		r.seen.fresh = false
		r.bite(time.Duration(r.steps) * step)
	}
	return float64(r.steps) * step.Seconds()
}

func (r *Rig) carry(w *warmth, flows []flow, t, h float64) {
	before, after := w.step(t, h, r.truth.ProbeLag)
	for i := range flows {
		flows[i].step(t, h, before, after)
	}
}

// look returns the state at that instant. It needs r.mu; what it returns is
// good until the next look.
func (r *Rig) look(at time.Duration) *snapshot {
	t := r.settleTo(at)
	s := &r.seen
	if s.fresh && s.at == at {
		return s
	}
	s.at, s.fresh, s.warmth = at, true, r.warmth
	s.flows = append(s.flows[:0], r.flows...)
	if h := at.Seconds() - t; h > 0 {
		r.carry(&s.warmth, s.flows, t, h)
	}
	return s
}

// act changes every circuit as it is now.
func (r *Rig) act(each func(f *flow, now float64)) {
	r.mu.Lock()
	defer r.mu.Unlock()
	now := r.settleTo(r.clock.Now())
	for i := range r.flows {
		each(&r.flows[i], now)
	}
	r.seen.fresh = false
}

// Pump works the hand pump: the feed side goes to the pressure to (Pa) in a
// straight line over that time and is kept there until the valve is locked or
// the feed side is vented. A duration of zero is a step.
func (r *Rig) Pump(to float64, over time.Duration) {
	r.act(func(f *flow, now float64) {
		f.supply = supply{state: pumped, from: f.feed, to: to, begin: now, duration: over.Seconds()}
	})
}

// Lock locks the valve: from now on liquid can enter the trapped side, none
// can leave but by the leak. The pump rests, the feed side stays closed.
func (r *Rig) Lock() {
	r.act(func(f *flow, now float64) {
		f.locked = true
		if f.supply.state == pumped {
			f.supply = supply{}
		}
	})
}

// VentFeed opens the feed side to the tank.
func (r *Rig) VentFeed() {
	r.act(func(f *flow, now float64) { f.supply = supply{state: vented} })
}

// LeaveFeed leaves the feed side closed while something pumps it up slowly,
// at that rate in Pa/s.
func (r *Rig) LeaveFeed(rate float64) {
	r.act(func(f *flow, now float64) { f.supply = supply{state: creeping, rate: rate} })
}

// Release opens the valve and the vent: the trapped side empties.
func (r *Rig) Release() {
	r.act(func(f *flow, now float64) {
		f.locked = false
		f.supply = supply{state: vented}
	})
}

// SetTemperature puts a temperature programme in the place of the running
// one, from now; with Start NaN it goes on from where the body is.
func (r *Rig) SetTemperature(p Programme) {
	r.mu.Lock()
	defer r.mu.Unlock()
	now := r.settleTo(r.clock.Now())
	r.warmth.change(p, now)
	r.seen.fresh = false
}

// SetLeak gives every circuit that leak at its test pressure, Pa/s, from now.
func (r *Rig) SetLeak(rate float64) {
	r.act(func(f *flow, now float64) {
		f.c.Leak = rate
		f.lambda = rate / f.c.TestPressure
	})
}

// State is the truth about one circuit at one instant, as no instrument sees
// it. SI.
type State struct {
	Position, Circuit                string
	Trapped, Feed                    float64 // Pa
	Liquid, Body, Probe, Room        float64 // K
	Locked, FeedVented, FeedCreeping bool
}

// States returns the truth about every circuit, in the order of the bench
// file, now.
func (r *Rig) States() []State {
	r.mu.Lock()
	defer r.mu.Unlock()
	s := r.look(r.clock.Now())
	out := make([]State, 0, len(s.flows))
	for _, p := range r.bench.Positions {
		for _, c := range p.Circuits {
			out = append(out, s.state(len(out), p.Name, c.Name))
		}
	}
	if len(out) == 0 {
		out = append(out, s.state(0, "", "a"))
	}
	return out
}

func (s *snapshot) state(i int, position, circuit string) State {
	f := s.flows[i]
	return State{
		Position: position, Circuit: circuit, Trapped: f.trapped, Feed: f.feed,
		Liquid: f.liquid + f.excess, Body: s.warmth.body, Probe: s.warmth.probe, Room: s.warmth.room(),
		Locked: f.locked, FeedVented: f.supply.state == vented, FeedCreeping: f.supply.state == creeping,
	}
}

// DefaultTruth is the unit that the bench file's [simulated] table describes;
// what it leaves out is a good unit with 4.5 bar/K and 30 bar/mL at 100 bar,
// 22 °C and steady.
func DefaultTruth(b *bench.Bench) Truth {
	t := Truth{
		Circuit: Circuit{
			ThermalCoefficient: 4.5e5, Stiffness: 3e12, TestPressure: 100e5,
			Warming: 0.06 / 100e5, WarmingTime: 40, Lag: 40,
		},
		Temperature: Programme{Start: 295.15},
		ProbeLag:    3,
		Sensors:     DefaultSensors,
	}
	s := b.Simulated
	if s == nil {
		return t
	}
	t.Circuit.Leak = orElse(s.Leak, 0)
	t.Circuit.ThermalCoefficient = orElse(s.ThermalCoefficient, t.Circuit.ThermalCoefficient)
	t.Circuit.TestPressure = orElse(s.TestPressure, t.Circuit.TestPressure)
	t.Temperature.Rate = orElse(s.TemperatureRate, 0)
	if s.SettlingAmplitude != 0 {
		t.Circuit.Settling = []Settling{{Amplitude: s.SettlingAmplitude, TimeConstant: orElse(s.SettlingTimeConstant, 120)}}
	}
	return t
}

// orElse is x unless it was not given: zero or NaN.
func orElse(x, otherwise float64) float64 {
	if x == 0 || math.IsNaN(x) {
		return otherwise
	}
	return x
}
