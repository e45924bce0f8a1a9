// Package decay knows how a trapped pressure falls: temperature compensation
// and decay models, fitted with their covariance. It knows nothing of limits
// or verdicts.
//
//	dp/dt = K·( α·dT_f/dt − Q/V − s(t) )     B = α·K  [Pa/K]
//
// The thermometer lies: its readings scatter, step and lag. A fit that takes
// them as given shrinks B, and the leak with it, with a confident face. So
// they are first reduced to a smooth temperature with an uncertainty of its
// own (smooth.go, local.go), carried to the liquid through the characterised lag
// (lag.go, lead.go), averaged over the probes (probes.go), and taken off the pressure with
// B held at its characterised value; what is not known of B enters the budget
// once. Where a hold's temperature goes up and down, the hold itself may say
// more of B (learned.go).
//
// Conventions: t in s, p gauge in Pa, T in K; a falling pressure has a
// negative slope; losses (drop, decay rate) are positive. A standard
// uncertainty has k = 1. Only noise is inflated for autocorrelation.
//
// Sources:
//
//	[1] JCGM 100:2008 (GUM): 5.1 propagation, H.3 straight line, G.4
//	    effective degrees of freedom.
//	[2] Widrow, B. and Kollár, I., Quantization Noise, Cambridge 2008 (mark M).
//	[3] Forsythe, G. E., J. SIAM 5 (1957) 74: orthogonal polynomials (mark M).
//	[4] Hampel, F. R., J. Am. Stat. Assoc. 69 (1974) 383: median absolute
//	    deviation (mark M).
//	[5] Hurvich, C. M. and Tsai, C.-L., Biometrika 76 (1989) 297: AICc
//	    (mark M).
//	[6] Burnham, K. P. and Anderson, D. R., Model Selection and Multimodel
//	    Inference, 2nd ed., Springer 2002: choice among models (mark M).
//
// The drop is the pressure lost from t0 to t1, settling included, referred to
// the temperature at t0, and the decay rate that over the time. Where no law
// explains the hold, both are taken from a freer curve (shape.go).
//
// Caveats: estimates come from a straight line, a laminar leak or an orifice
// (models.go), or the freer curve; leaks that open or close at a pressure, or
// come and go, are told of in words and counted in the loss. A characterised
// settling is held, and its doubt widened where the hold contradicts it
// (contradicted.go); without one, settling is learned only where it cannot be
// a leak (ownsettling.go). The warmth of a liquid that was just pumped up is
// taken out where it is characterised (warming.go) and is curvature where it
// is not; a lag that is not characterised is taken as 0, with a doubt where
// the temperature bends. A step that drowns in the noise is not seen
// (steps.go). A leak goes by the trapped pressure that is there (drive.go).
package decay

import "holdbench/analysis/uncertainty"

// Characterised is what is known beforehand of bench, model and circuit. A
// nil pointer means not known.
type Characterised struct {
	// ThermalCoefficient is B in Pa/K.
	ThermalCoefficient *uncertainty.Estimate
	// Lag between probe and liquid in s: positive, the liquid follows the
	// probe; negative, the probe follows the liquid: it is then by how much
	// more slowly the probe follows the body than the liquid itself does
	// (lead.go).
	Lag *uncertainty.Estimate
	// Stiffness in Pa/m³.
	Stiffness *uncertainty.Estimate
	// LagCorrelation is the correlation between ThermalCoefficient and Lag,
	// which come out of the same run; 0 when not known.
	LagCorrelation float64
	// Settling of hoses and seals after locking.
	Settling *Settling
	// Creep is a settling that slows but does not end, Pa per decade of the
	// time since locking: from t1 to t2 after it the pressure falls by
	// Creep·log10(t2/t1).
	Creep *uncertainty.Estimate
	// Warming is what pressurising leaves in the liquid.
	Warming *Warming
	// ViscosityChange is the relative change of the liquid's viscosity per
	// kelvin, (1/μ)·dμ/dT in 1/K, below 0 for a liquid.
	ViscosityChange *uncertainty.Estimate
	// Source says where the figures come from, for pages.
	Source string
}

// Settling is a pressure loss A·(1 − exp(−t/τ)) with t since locking.
type Settling struct {
	// Amplitude A in Pa, > 0 for a loss.
	Amplitude uncertainty.Estimate
	// TimeConstant τ in s.
	TimeConstant uncertainty.Estimate
	// Correlation between the two; 0 when not known.
	Correlation float64
}

// Warming is how much the liquid is warmer after pressurising than what the
// probe says: Amplitude·exp(−t/τ) with t since locking.
type Warming struct {
	// Amplitude at the instant of locking in K, > 0 for a liquid that was
	// pumped up.
	Amplitude uncertainty.Estimate
	// TimeConstant τ of the liquid's cooling in s.
	TimeConstant uncertainty.Estimate
}

// Curves are what a figure shows of a hold. All slices have the same length,
// that of the valid pressure readings in the window, or, of more than mostDrawn
// of these, of as many evenly taken, in time order; times in s, pressures in
// Pa, temperatures in K. Temperature curves are empty without a probe. They
// share memory with the readings and must not be changed.
type Curves struct {
	Time        []float64
	Measured    []float64
	Compensated []float64
	Fitted      []float64
	// LiquidTemperature is the smooth estimate T_f at Time, and
	// LiquidTemperatureU its standard uncertainty.
	LiquidTemperature  []float64
	LiquidTemperatureU []float64
}

// Diagnostics say which law of decay was taken and how well it describes the
// hold; NaN where not computed.
type Diagnostics struct {
	// Law is the name of the law behind the estimates (Line, Exponential or
	// Orifice), empty where there is no fit; LawReason says in words why, and where
	// a freer curve gives what was lost: then Noise and what follows it
	// are about that, as Curves.Fitted is.
	Law, LawReason string
	// AICcLine and AICcExponential are the criterion by which it was chosen:
	// the smaller, the better; only their difference says something.
	AICcLine, AICcExponential float64
	// Readings is the number of valid pressure readings in the window.
	Readings int
	// ValidShare is the share of the window covered by valid readings (0–1).
	ValidShare float64
	// Noise is the residual standard deviation, Pa.
	Noise float64
	// Autocorrelation is the residuals' lag-1 autocorrelation, corrected for
	// bias; Inflation the factor on the noise part's standard uncertainty
	// (≥ 1); EffectiveReadings the number of independent readings. Of a hold
	// with very many readings the first two are those of the means of blocks.
	Autocorrelation, Inflation, EffectiveReadings float64
	// CurvatureT is the quadratic term beside the exponential (beside the line
	// where there is no exponential) over its standard uncertainty, and
	// CurvatureDOF its degrees of freedom; StillSettling is true when it is
	// significantly that of a loss that slows by more than a leak towards the
	// sink explains.
	CurvatureT, CurvatureDOF float64
	StillSettling            bool
	// SlowingU is the standard uncertainty of how fast the loss rate changes,
	// Pa/s², as the curvature tells it; 0 where there is none.
	SlowingU float64
	// BlockMeanRate is the decay rate from block means, Pa/s, and its
	// standard uncertainty: shown beside the fit as a check, never decides.
	BlockMeanRate, BlockMeanRateU float64
	// TemperatureChange is T_f(t1) − T_f(t0), K, and its standard
	// uncertainty.
	TemperatureChange, TemperatureChangeU float64
	// RawRate is the uncompensated loss rate, Pa/s.
	RawRate float64

	// LiquidRate is the slope of T_f over the hold as the fit weighs it, K/s.
	LiquidRate float64
	// TemperatureNoise is the standard deviation of the probe's smoothed
	// readings (means of short blocks), TemperatureResolution the step that
	// was taken for its resolution (0: finer than its noise), K.
	TemperatureNoise, TemperatureResolution float64
	// TimeTemperature is the correlation of time and the liquid's temperature
	// over the hold, VIF the factor 1/(1 − r²), +Inf in a straight line, by
	// which a rate fitted together with the coefficient would lose information.
	TimeTemperature, VIF float64
	// LearnedCoefficient: the thermal coefficient was learned from this hold,
	// alone or with the characterised one; CoefficientSource says where it
	// comes from.
	LearnedCoefficient bool
	CoefficientSource  string
	// OwnCoefficient is the thermal coefficient that this hold itself speaks for,
	// whether it was used or not, Pa/K, with its standard uncertainty and the
	// degrees of freedom of that; all 0 where it says nothing.
	OwnCoefficient, OwnCoefficientU, OwnCoefficientDOF float64
	// Words say in plain words what the course of the pressure speaks for and
	// against; none where it is within the noise.
	Words []string
	// Tails is the excess kurtosis of the pressure's noise, 0 for Gaussian noise
	// and where it was not looked at; where it is clearly above, outliers are
	// drawn in.
	Tails float64
	// Laws are those that were laid, in the order of their table.
	Laws []Candidate
	// Notes say in words what a reader should know of the temperature. InStep
	// says that time and temperature cannot be told apart and that it matters,
	// Warmth that a loss which slows may be the liquid's after pressurising;
	// empty where it is not so.
	Notes          []string
	InStep, Warmth string

	// SetAside and TemperatureSetAside count readings that were set aside as
	// single spikes; Suspect and TemperatureSuspect those that look like
	// spikes but are too many, and stay.
	SetAside, TemperatureSetAside int
	Suspect, TemperatureSuspect   int
	// SpikeInfluence is by how much the decay rate would be higher with the
	// pressure readings that were set aside, Pa/s; 0 without any.
	SpikeInfluence float64
	// Jumps are those of the pressure reading; where the unit was pumped up
	// again there is none.
	Jumps []Jump
	// RunsZ is the number of runs of residuals of one sign less the expected
	// one, over its standard deviation: far below 0 where they hang together.
	RunsZ float64
	// HalfRates are the decay rates of the first and of the second half of the
	// hold, temperature compensated and without the characterised settling,
	// Pa/s; HalvesT the second less the first over its standard uncertainty,
	// HalvesDOF its degrees of freedom.
	HalfRates          [2]float64
	HalvesT, HalvesDOF float64
	// Segments is of how many parts an interrupted hold is, 0 for one that was
	// not; Held for how long they held together, s.
	Segments int
	Held     float64
	// Repumps counts how often the unit was pumped up again. From three on
	// RepumpInterval is the mean time between them, s, and RepumpRate the rate
	// at which the pressure fell in it as measured, Pa/s, with its standard
	// uncertainty from their scatter: a second estimate, shown beside the fit,
	// that never decides.
	Repumps                 int
	RepumpInterval          float64
	RepumpRate, RepumpRateU float64
	// ZeroShift is by how much the transducer's zero moved from before the hold
	// to after it, Pa, and its standard uncertainty; NaN where it was not read.
	ZeroShift, ZeroShiftU float64
}

// Candidate is a law that was laid to a hold.
type Candidate struct {
	Law string
	// AICc is its criterion, the smaller the better; NaN where it says nothing.
	// Weight is by how much it counts in what the laws say together (0–1).
	AICc, Weight float64
}
