package simbench

import "math"

// ambient is the absolute pressure of the air, Pa.
const ambient = 101325

// prehistory is how long before the recording the room is taken to have
// worked on the body, s, and in which steps.
const (
	prehistory     = 7200
	prehistoryStep = 20
)

// throughFeedVent is the time constant with which the feed side loses its
// pressure once the valve is locked, s.
const throughFeedVent = 2

// trapped is the state of a Trial under way.
type trapped struct {
	t   Trial
	now float64
	// temperatures in K
	liquid, body, probe float64
	pressure            float64
	// crept is what each exponential has taken, Pa at the test pressure; gas
	// the share of the free gas that is left.
	// load is the share of the test pressure that hoses and seals were
	// stretched by when the circuit was locked: the few per cent that it falls
	// afterwards change nothing.
	crept     []float64
	gas, load float64
	// compliance at the test pressure, m³/Pa, of liquid with walls, hoses and
	// gas; expansion in m³/K.
	stiff, hoses, gassy, expansion float64
	// marks are taken at t0: liquid's temperature and the sums below.
	marked bool
	start  float64
	// leaked and settled are what the hold lost since t0, Pa.
	leaked, settled float64
}

func newTrapped(t Trial) *trapped {
	total := 1 / t.Volume.Stiffness
	s := &trapped{t: t, gas: 1, crept: make([]float64, len(t.Creep.Exponential)), expansion: t.Volume.ThermalCoefficient * total}
	s.gassy = total * t.Volume.Gas
	s.hoses = (total - s.gassy) * t.Volume.HoseShare
	s.stiff = total - s.gassy - s.hoses
	s.body = t.Heat.Room(-prehistory)
	s.liquid, s.probe = s.body, s.body
	for at := -float64(prehistory); at < 0; at += prehistoryStep {
		s.warm(at, prehistoryStep)
	}
	return s
}

// until carries the state to a time.
func (s *trapped) until(to float64) {
	for s.now < to-1e-9 {
		next := math.Min(to, s.now+s.t.Schedule.Step)
		for _, edge := range s.edges() {
			if s.now < edge-1e-9 && edge < next {
				next = edge
			}
		}
		if !s.marked && s.now >= s.t.Schedule.Start()-1e-9 {
			s.marked, s.start = true, s.liquid
			s.leaked, s.settled = 0, 0
		}
		s.step(next - s.now)
		s.now = next
	}
}

// edges are the instants that no step may jump over.
func (s *trapped) edges() [4]float64 {
	c := s.t.Schedule
	return [4]float64{c.Before, c.Before + c.Pump, c.Locked(), c.Start()}
}

// step carries the state from now over h seconds. With ΔT the liquid's change
// of temperature, by exchange and by compression,
//
//	Δp = (expansion·ΔT − what was lost) / compliance(p)
func (s *trapped) step(h float64) {
	before := s.pressure
	heated := s.warm(s.now, h)
	c := s.t.Schedule
	switch {
	case s.now < c.Before-1e-9:
	case s.now < c.Locked()-1e-9:
		done := 1.0
		if c.Pump > 0 {
			done = math.Min(1, (s.now+h-c.Before)/c.Pump)
		}
		s.pressure = c.TestPressure * done
		s.liquid += s.t.Heat.Compression * (s.pressure - before)
		s.creep(h, s.pressure)
	default:
		s.lose(h, heated)
	}
}

// lose is a step of the locked circuit.
func (s *trapped) lose(h, heated float64) {
	over := s.compliance(s.pressure)
	leak := s.flow(s.pressure, s.now+h/2) * h
	settle := s.creep(h, s.pressure) + s.dissolve(h, s.pressure)
	w := s.t.Heat.Compression
	middle := s.pressure + (s.expansion*heated-leak-settle)/(over-s.expansion*w)/2
	over = s.compliance(middle)
	leak = s.flow(middle, s.now+h/2) * h
	change := (s.expansion*heated - leak - settle) / (over - s.expansion*w)
	s.leaked += leak / over
	s.settled += settle / over
	s.pressure += change
	s.liquid += w * change
}

// compliance of all that gives way at a pressure, m³/Pa.
func (s *trapped) compliance(p float64) float64 {
	v, tp := s.t.Volume, s.t.Schedule.TestPressure
	p = math.Max(p, 0)
	out := s.stiff * (v.BulkModulus + v.BulkModulusByPressure*tp) / (v.BulkModulus + v.BulkModulusByPressure*p)
	if s.hoses > 0 {
		out += s.hoses * math.Pow((tp+ambient)/(p+ambient), v.HoseStiffening)
	}
	if s.gassy > 0 {
		r := (tp + ambient) / (p + ambient)
		out += s.gassy * s.gas * r * r
	}
	return out
}

// flow through the leak at a pressure, m³/s.
func (s *trapped) flow(p, at float64) float64 {
	l, tp := s.t.Leak, s.t.Schedule.TestPressure
	if l.Rate == 0 {
		return 0
	}
	sink := l.Sink + (tp-l.Sink)*math.Exp(-(at-s.t.Schedule.Locked())/throughFeedVent)
	if p <= sink {
		return 0
	}
	share := (p - sink) / tp
	if l.Power != 1 {
		share = math.Pow(share, l.Power)
	}
	return l.Rate / s.t.Volume.Stiffness * share * (1 + l.ByTemperature*(s.liquid-l.Reference))
}

// creep returns the volume that hoses and seals took over h, m³.
func (s *trapped) creep(h, p float64) float64 {
	c := s.t.Creep
	if s.now < s.t.Schedule.Locked()-1e-9 {
		s.load = p / s.t.Schedule.TestPressure
	}
	load := s.load
	var lost float64
	for i, e := range c.Exponential {
		next := follow(s.crept[i], e.Amplitude*load, e.Amplitude*load, e.TimeConstant, h)
		lost += next - s.crept[i]
		s.crept[i] = next
	}
	if since := s.now - s.t.Schedule.Before - s.t.Schedule.Pump; c.PerDecade != 0 && since >= 0 {
		lost += c.PerDecade * load * math.Log10((since+h+c.Begin)/(since+c.Begin))
	}
	return lost / s.t.Volume.Stiffness
}

// dissolve returns the volume that went with gas into solution over h, m³.
func (s *trapped) dissolve(h, p float64) float64 {
	if s.gassy == 0 {
		return 0
	}
	gone := s.gas * -math.Expm1(-h/s.t.Volume.GasTime)
	s.gas -= gone
	tp := s.t.Schedule.TestPressure + ambient
	// Free gas of compliance V_g/p_abs takes the volume V_g = compliance·p_abs.
	return s.gassy * tp * gone * tp / (p + ambient)
}

// warm moves heat over h seconds from at and returns by how much that warmed
// the liquid, K.
func (s *trapped) warm(at, h float64) float64 {
	q := s.t.Heat
	room := q.Room(at + h/2)
	toLiquid, toRoom := q.LiquidShare/q.LiquidTime, 1/q.BodyTime
	towards := (toLiquid*s.liquid + toRoom*room) / (toLiquid + toRoom)
	body := follow(s.body, towards, towards, 1/(toLiquid+toRoom), h)
	liquid := follow(s.liquid, s.body, body, q.LiquidTime, h)
	s.probe = follow(s.probe, s.body, body, q.ProbeTime, h)
	heated := liquid - s.liquid
	s.liquid, s.body = liquid, body
	return heated
}

// account says what was lost over the hold.
func (s *trapped) account(out *Tried) {
	d := s.t.Schedule.Hold
	out.LeakRate = s.leaked / d
	out.DecayRate = (s.leaked + s.settled) / d
	out.LiquidChange = s.liquid - s.start
}
