package verdict

// Decision is what became of one limit.
type Decision struct {
	Limit Limit
	// DecidedBy is the bound that was held against the limit, in the
	// quantity's SI unit: y + t·u for a guarded PASS on a maximum, y − t·u
	// for a FAIL, the value itself under the simple rule. NaN where there is
	// no estimate. For INCONCLUSIVE under the guarded rule it is the bound
	// that PASS would have needed inside the limit.
	DecidedBy float64
	Verdict   Verdict
	// Reason in plain words; empty for a clear PASS or FAIL.
	Reason string
}
