package discovery

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"holdbench/daq/modbus"
)

// Candidate is a way to read some registers that may be what was moved.
type Candidate struct {
	Place Place
	// Rest is the number before anything was moved, the mean, and Noise its
	// standard deviation then; End is the last number.
	Rest, Noise, End float64
	// Steady is how steadily it went from Rest to End: 1 without a turn, near
	// 0 for to and fro.
	Steady float64
	// Leap is the part of the way that the largest single step made up.
	Leap float64
	// Score orders candidates, the best first.
	Score float64
}

// Bounds of our own for what a reading of an instrument may be; no source. A
// wrong type or order of words makes numbers of any magnitude, and numbers
// that leap.
const (
	tiniest   = 1e-4 // of a float that is not 0
	largest   = 1e8
	unmoved   = 5    // noises that are no movement
	fewCounts = 3    // of a whole number that are none either
	leastWay  = 1e-3 // of its own magnitude that a float without noise must have moved
)

// Moved ranks the ways to read registers by how they moved: rest are snapshots
// from before anything was moved, moving those since, in their order; at least
// one of each. What hardly moved is left out. Of ways that share a register
// and say the same numbers only the simplest stays.
//
// What an instrument measures moves steadily, without leaps, over a way that
// is large against its noise, and in numbers that people use; a number read in
// the wrong type, or with its words or bytes the wrong way round, does not.
func Moved(rest, moving []Snapshot) []Candidate {
	if len(rest) == 0 || len(moving) == 0 {
		return nil
	}
	changed := changedRegisters(append(slices.Clone(rest), moving...))
	var out []Candidate
	for _, p := range rest[0].Places() {
		c, ok := candidate(p, rest, moving, changed)
		if !ok {
			continue
		}
		i := slices.IndexFunc(out, c.same)
		switch {
		case i < 0:
			out = append(out, c)
		case p.Format.Registers() < out[i].Place.Format.Registers():
			out[i] = c
		}
	}
	slices.SortStableFunc(out, func(a, b Candidate) int { return cmp.Compare(b.Score, a.Score) })
	return out
}

// same says whether two candidates share a register and say the same.
func (c Candidate) same(other Candidate) bool {
	a, b := c.Place, other.Place
	return a.Function == b.Function && c.Rest == other.Rest && c.End == other.End &&
		a.Register < b.Register+uint16(b.Format.Registers()) && b.Register < a.Register+uint16(a.Format.Registers())
}

// candidate judges one way to read; false where it did not move, or cannot be
// a reading.
func candidate(p Place, rest, moving []Snapshot, changed map[byte]map[uint16]bool) (Candidate, bool) {
	before, after := values(p, rest), values(p, moving)
	if before == nil || after == nil {
		return Candidate{}, false
	}
	c := Candidate{Place: p, End: after[len(after)-1]}
	c.Rest, c.Noise = meanAndSD(before)
	way := c.End - c.Rest
	noise := max(c.Noise, roughness(after))
	if size := math.Abs(way); size < unmoved*noise || size < fewCounts && !p.Format.Type.Float() || size < leastWay*math.Abs(c.Rest) && c.Noise == 0 && p.Format.Type.Float() || way == 0 {
		return Candidate{}, false
	}
	c.Steady, c.Leap = course(c.Rest, after, 3*c.Noise)
	c.Score = c.score(noise, changed[p.Function]) * least(p, rest, moving)
	return c, true
}

// least judges a number of several registers by the one with its least bits:
// that one alone must run through all it can hold again and again, like the
// last wheel of a counter. Where it moves steadily by itself it is a number of
// its own, that happens to stand beside. 1 for a single register.
func least(p Place, rest, moving []Snapshot) float64 {
	n := p.Format.Registers()
	if n == 1 {
		return 1
	}
	alone := Place{p.Function, p.Register, modbus.Format{LowByteFirst: p.Format.LowByteFirst}}
	if !p.Format.LowWordFirst {
		alone.Register += uint16(n - 1)
	}
	for _, alone.Format.Type = range []modbus.Type{modbus.Int16, modbus.Uint16} {
		from, sd := meanAndSD(values(alone, rest))
		if steady, leap := course(from, values(alone, moving), 3*sd); steady > 0.8 && leap < 0.5 {
			return 0.7
		}
	}
	return 1.1
}

// roughness is the noise of numbers while they move, by their second
// differences, which a steady movement leaves small; 0 for fewer than three.
func roughness(all []float64) float64 {
	if len(all) < 3 {
		return 0
	}
	var turns []float64
	for i := 2; i < len(all); i++ {
		turns = append(turns, math.Abs(all[i]-2*all[i-1]+all[i-2]))
	}
	slices.Sort(turns)
	// Four fifths of normal noise are within 1.2816 of its standard deviation,
	// and a second difference has √6 times that of a reading. The middle would
	// be of no use: half of the time nothing may have moved.
	return turns[4*len(turns)/5] / (1.2816 * math.Sqrt(6))
}

// score is between 0 and 1, times small factors for what is unlikely.
func (c Candidate) score(noise float64, changed map[uint16]bool) float64 {
	way := math.Abs(c.End - c.Rest)
	clear := way / (way + 40*noise)
	smooth := 1 - 0.7*max(0, c.Leap-0.5)
	score := c.Steady * clear * smooth
	// A register that changes beside, as part of the same number, must be in it;
	// one that stands still hardly is: the high word of a small whole number, or
	// what belongs to something else.
	p := c.Place
	still := 0
	for i := range p.Format.Registers() {
		if !changed[p.Register+uint16(i)] {
			still++
		}
	}
	score *= math.Pow(0.8, float64(still))
	if p.Format.Type.Float() {
		score *= 1.05 // random bits hardly make a float that moves well
	}
	if p.Format.LowByteFirst {
		score *= 0.7 // seldom
	}
	if p.Format.LowWordFirst {
		score *= 0.98 // where noise hides which of two low words belongs to a high one
	}
	if !plausible(p, c.Rest) || !plausible(p, c.End) {
		score *= 0.2
	}
	return score
}

// plausible says whether people use such a number.
func plausible(p Place, x float64) bool {
	size := math.Abs(x)
	return size <= largest && (size == 0 || size >= tiniest || !p.Format.Type.Float())
}

// values are the numbers at a place, nil where one is none.
func values(p Place, all []Snapshot) []float64 {
	out := make([]float64, len(all))
	for i, s := range all {
		out[i] = s.Value(p)
		if math.IsNaN(out[i]) || math.IsInf(out[i], 0) {
			return nil
		}
	}
	return out
}

// course follows numbers from where they were at rest; steps that are no more
// than noise are passed over.
func course(from float64, all []float64, noise float64) (steady, leap float64) {
	way, travelled, longest, last := all[len(all)-1]-from, 0.0, 0.0, from
	for i, x := range all {
		step := math.Abs(x - last)
		if step <= noise && i < len(all)-1 {
			continue
		}
		travelled += step
		longest = max(longest, step)
		last = x
	}
	if travelled == 0 {
		return 0, 0
	}
	return math.Abs(way) / travelled, min(1, longest/math.Abs(way))
}

func meanAndSD(all []float64) (mean, sd float64) {
	for _, x := range all {
		mean += x / float64(len(all))
	}
	if len(all) < 2 {
		return mean, 0
	}
	for _, x := range all {
		sd += (x - mean) * (x - mean)
	}
	return mean, math.Sqrt(sd / float64(len(all)-1))
}

// changedRegisters are those that did not hold the same all the time.
func changedRegisters(all []Snapshot) map[byte]map[uint16]bool {
	out := map[byte]map[uint16]bool{}
	for function, registers := range all[0] {
		out[function] = map[uint16]bool{}
		for register, first := range registers {
			for _, s := range all[1:] {
				if v, ok := s[function][register]; ok && v != first {
					out[function][register] = true
				}
			}
		}
	}
	return out
}

func sortedKeys(m map[uint16]uint16) []uint16 { return slices.Sorted(maps.Keys(m)) }
