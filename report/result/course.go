package result

import "holdbench/analysis/decay"

// Course says whether a hold was the same from beginning to end; see
// decay.Diagnostics. Null where not computed. SI.
type Course struct {
	// Words say what the course of the pressure speaks for and against.
	Words []string `json:"words,omitempty"`
	// Laws are the laws that were laid, by how much each counts.
	Laws []Law `json:"laws,omitempty"`
	// Tails is the excess kurtosis of the pressure's noise.
	Tails *float64 `json:"tails,omitempty"`
	// RunsZ: residuals of one sign hang together where it is far below 0.
	RunsZ *float64 `json:"runs_z"`
	// The rates of either half, and the second less the first over its
	// standard uncertainty.
	FirstHalfRate  *float64 `json:"first_half_rate"`
	SecondHalfRate *float64 `json:"second_half_rate"`
	HalvesT        *float64 `json:"halves_t"`
	HalvesDOF      *float64 `json:"halves_dof"`
	// SetAside counts pressure readings set aside as spikes, SpikeInfluence is
	// by how much they would raise the decay rate, Pa/s.
	SetAside       int      `json:"set_aside"`
	SpikeInfluence *float64 `json:"spike_influence"`
	Jumps          []Jump   `json:"jumps,omitempty"`
	// Of an interrupted hold: its segments and for how long they held, s.
	Segments int      `json:"segments,omitempty"`
	Held     *float64 `json:"held,omitempty"`
	// What re-pumps say of the loss themselves: shown beside, never decides.
	Repumps        int      `json:"repumps,omitempty"`
	RepumpInterval *float64 `json:"repump_interval,omitempty"`
	RepumpRate     *float64 `json:"repump_rate,omitempty"`
	RepumpRateU    *float64 `json:"repump_rate_u,omitempty"`
	// By how much the vented transducer's zero moved from before to after, Pa.
	ZeroShift  *float64 `json:"zero_shift,omitempty"`
	ZeroShiftU *float64 `json:"zero_shift_u,omitempty"`
}

// Law is a law of decay that was laid to the hold: its criterion, the smaller
// the better, and by how much it counts (0–1).
type Law struct {
	Law    string   `json:"law"`
	AICc   *float64 `json:"aicc"`
	Weight float64  `json:"weight"`
}

// Jump is a step of the pressure's reading: at and within in s, size in Pa.
type Jump struct {
	At     float64 `json:"at"`
	Within float64 `json:"within"`
	Size   float64 `json:"size"`
}

func course(d decay.Diagnostics) *Course {
	c := &Course{
		Words: d.Words, Tails: number(d.Tails),
		RunsZ: number(d.RunsZ), FirstHalfRate: number(d.HalfRates[0]), SecondHalfRate: number(d.HalfRates[1]),
		HalvesT: number(d.HalvesT), HalvesDOF: number(d.HalvesDOF),
		SetAside: d.SetAside, SpikeInfluence: number(d.SpikeInfluence),
		Segments: d.Segments, Repumps: d.Repumps,
		RepumpInterval: number(d.RepumpInterval), RepumpRate: number(d.RepumpRate), RepumpRateU: number(d.RepumpRateU),
		ZeroShift: number(d.ZeroShift), ZeroShiftU: number(d.ZeroShiftU),
	}
	if d.Segments > 0 {
		c.Held = number(d.Held)
	}
	for _, l := range d.Laws {
		c.Laws = append(c.Laws, Law{l.Law, number(l.AICc), l.Weight})
	}
	for _, j := range d.Jumps {
		c.Jumps = append(c.Jumps, Jump(j))
	}
	return c
}
