package main

import (
	"bytes"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/analysis/si"
	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/procedure"
	"holdbench/daq/record"
	"holdbench/daq/simbench"
	"holdbench/report/result"
)

// madeRun is a recording as a bench would have left it: locked at 20 s, held
// from 80 s on. Its physics is the test's own. Mark D.
type madeRun struct {
	coefficient, lag, leak float64 // bar/K, s, bar/min
	body                   func(t float64) float64
	hold                   float64 // s
	interval               time.Duration
	serial                 string
	started                time.Time
	steps                  map[float64]float64 // time → mL
	stiffness              float64             // bar/mL
	settling, tau          float64             // bar, s
	notes                  map[float64]string
	challenge              *record.Challenge
	seed                   uint64
	edit                   func(m *record.Meta)
}

func reference() madeRun {
	return madeRun{
		coefficient: 4.62, lag: 33, leak: 0.002, hold: 2400, interval: 500 * time.Millisecond, serial: "HV1-00001",
		started: time.Date(2026, 9, 14, 6, 0, 0, 0, time.UTC), seed: 1, stiffness: 12,
		body: func(t float64) float64 { return 22 + 0.9*math.Sin(2*math.Pi*t/1500) },
	}
}

// write leaves the recording in a folder of its own below dir.
func (m madeRun) write(t *testing.T, dir string) string {
	t.Helper()
	files := simbench.CraneFiles()
	read := func(name string) record.SourceFile {
		text, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			require.NoError(t, os.CopyFS(dir, files))
			text, err = os.ReadFile(filepath.Join(dir, name))
		}
		require.NoError(t, err)
		return record.SourceFile{Name: name, Text: string(text), Hash: "sha256:" + strings.Repeat("0", 64)}
	}
	meta := record.Meta{
		RunID: "run-" + m.started.Format("150405") + "-" + m.serial, SerialNumber: m.serial, Model: "HV-1", Operator: "test", Position: "1", Started: m.started,
		ClockKind: "lock-step", Program: "test", Note: "invented", Bench: read("bench.toml"), Procedure: read("hold.toml"),
		Characterisation: read("characterisation.toml"), Challenge: m.challenge,
	}
	b, err := bench.Parse("bench.toml", []byte(meta.Bench.Text))
	require.NoError(t, err)
	for _, c := range b.Channels {
		meta.Channels = append(meta.Channels, daq.Channel{Name: c.Name, Quantity: c.Quantity, RawUnit: c.RawUnit, Instrument: c.Instrument, Interval: m.interval})
	}
	if m.edit != nil {
		m.edit(&meta)
	}
	folder := filepath.Join(dir, record.FolderName(m.serial, m.started, meta.RunID))
	w, err := record.Create(folder, meta)
	require.NoError(t, err)
	for at, phase := range []string{"fill", "pressurise", "lock", "vent feed", "stabilise", "hold"} {
		m.event(t, w, []float64{0, 5, 15, 20, 25, 80}[at], daq.PhaseBegins, "a", phase, "")
	}
	for at, text := range m.notes {
		m.event(t, w, at, daq.Note, "", "operator", text)
	}
	m.readings(t, w)
	require.NoError(t, w.Close())
	return folder
}

func (m madeRun) event(t *testing.T, w *record.Writer, at float64, kind daq.EventKind, circuit, subject, text string) {
	t.Helper()
	when := time.Duration(at * float64(time.Second))
	require.NoError(t, w.Event(daq.Event{At: when, Until: when, Kind: kind, Circuit: circuit, Subject: subject, Text: text}))
}

func (m madeRun) readings(t *testing.T, w *record.Writer) {
	rng := rand.New(rand.NewPCG(m.seed, 0))
	end := 80 + m.hold
	liquid := m.body(-400)
	for s := -400.0; s < 0; s += 0.5 {
		liquid += (m.body(s) - liquid) * 0.5 / m.lag
	}
	first := liquid
	dt := m.interval.Seconds()
	released := false
	for s := 0.0; s < end+20; s += dt {
		liquid += (m.body(s-dt/2) - liquid) * -math.Expm1(-dt/m.lag)
		p := 100 + m.coefficient*(liquid-first) - m.leak*max(s-20, 0)/60
		if m.tau > 0 {
			p += m.settling * math.Expm1(-max(s-20, 0)/m.tau)
		}
		for at, v := range m.steps {
			if s >= at {
				p += m.stiffness * v * (1 + 0.16*math.Exp(-(s-at)/20))
			}
		}
		feed := 0.0
		switch {
		case s < 15:
			p *= s / 15
			feed = p
		case s < 22:
			feed = 100
		case s > end+2:
			p = 0
		}
		if s >= end && !released {
			released = true
			m.event(t, w, end, daq.PhaseBegins, "a", "release", "")
		}
		at := time.Duration(s * float64(time.Second))
		require.NoError(t, w.Scan(daq.Scan{At: at, Instrument: "module", Readings: []daq.Reading{
			m.reading(0, (p+0.01*rng.NormFloat64())*1e5), m.reading(1, (feed+0.01*rng.NormFloat64())*1e5)}}))
		require.NoError(t, w.Scan(daq.Scan{At: at, Instrument: "probe", Readings: []daq.Reading{
			m.reading(2, 273.15+m.body(s)+0.005*rng.NormFloat64()), m.reading(3, 294)}}))
	}
	m.event(t, w, end+15, daq.Vented, "", "vented", "measured and confirmed")
}

func (madeRun) reading(channel int, v float64) daq.Reading {
	return daq.Reading{Channel: channel, Value: v, Raw: v}
}

// command runs the command line and returns its exit code and what it said.
func command(t *testing.T, args ...string) (code int, out, errs string, err error) {
	t.Helper()
	root := newRoot(&code)
	var stdout, stderr bytes.Buffer
	root.SetOut(&stdout)
	root.SetErr(&stderr)
	root.SetArgs(args)
	err = root.Execute()
	return code, stdout.String(), stderr.String(), err
}

// The whole way: a reference unit while the temperature goes up and down, its
// figures into the characterisation file of the bench, and a hold that warms
// judged with them.
func TestHoldIsJudgedByWhatAReferenceUnitCharacterised(t *testing.T) {
	dir := t.TempDir()
	first := reference().write(t, dir)
	second := reference()
	second.started, second.seed = second.started.Add(2*time.Hour), 2
	other := second.write(t, dir)

	file := filepath.Join(dir, "own.toml")
	code, out, errs, err := command(t, "characterise", "thermal", first, other, "--pressure-range", "80..120 bar", "--expiry", "2027-03-14",
		"--write", file, "--pdf", filepath.Join(dir, "c.pdf"), "--png", filepath.Join(dir, "c.png"))
	require.NoError(t, err)
	assert.Equal(t, exitPass, code)
	assert.Empty(t, errs)
	assert.Contains(t, out, "thermal coefficient")
	assert.Contains(t, out, "2 runs that agree")
	for _, page := range []string{"c.pdf", "c.png"} {
		info, err := os.Stat(filepath.Join(dir, page))
		require.NoError(t, err)
		assert.Greater(t, info.Size(), int64(5000))
	}

	text, err := os.ReadFile(file)
	require.NoError(t, err)
	b, err := bench.Load(filepath.Join(dir, "bench.toml"))
	require.NoError(t, err)
	require.NoError(t, b.AttachCharacterisation(file, text))
	known, why := b.Characterisation("HV-1", "a", "mineral hydraulic oil ISO VG 32", 100e5, second.started.Add(24*time.Hour))
	require.NotNil(t, known, why)
	assert.InDelta(t, 4.62e5, known.ThermalCoefficient.Value, 4*known.ThermalCoefficient.StdUncertainty)
	assert.InDelta(t, 33, known.Lag.Value, 4*known.Lag.StdUncertainty)
	assert.Less(t, known.ThermalCoefficient.StdUncertainty, 0.05e5)
	assert.Contains(t, known.Source, "characterise thermal: 2 runs")

	// A unit that leaks 0.2 bar/min while it warms by 3 K/h: the raw rate is
	// nothing, the compensated one is found.
	unit := reference()
	unit.hold, unit.interval, unit.leak, unit.serial, unit.seed = 300, 200*time.Millisecond, 0.2, "HV1-00777", 9
	unit.started = unit.started.Add(48 * time.Hour)
	unit.body = func(t float64) float64 { return 22 + 3*t/3600 }
	unit.edit = func(m *record.Meta) { m.Characterisation = record.SourceFile{Name: "own.toml", Text: string(text)} }
	rec, err := record.Open(unit.write(t, dir))
	require.NoError(t, err)
	r, _, _, err := result.Assess(rec, options(1))
	require.NoError(t, err)
	rate := r.Circuits[0].Tests[0].Estimates["decay_rate"]
	require.NotNil(t, rate.Value, rate.Reason)
	assert.InDelta(t, 0.2, *rate.Value/1e5*60, 3**rate.U/1e5*60)
	assert.Less(t, *rate.U/1e5*60, 0.02)
	assert.Equal(t, "PASS", r.Verdict, r.Reasons)
	used := r.Circuits[0].Tests[0].Estimates["thermal_coefficient"]
	assert.Equal(t, known.ThermalCoefficient.Value, *used.Value)
}

// What stands in a characterisation file stays as it is, and figures of later
// blocks join those of earlier ones.
func TestBlocksJoinTheFileWithoutTouchingIt(t *testing.T) {
	dir := t.TempDir()
	m := reference()
	m.hold, m.interval = 900, 200*time.Millisecond
	m.body = func(t float64) float64 { return 22 + 0.1*t/3600 }
	m.steps = map[float64]float64{}
	m.notes = map[float64]string{}
	for i := range 4 {
		at := 180 + 180*float64(i)
		m.steps[at] = 0.1
		m.notes[at] = "step 0.100 ± 0.001 mL"
	}
	folder := m.write(t, dir)
	file := filepath.Join(dir, "characterisation.toml")
	before, err := os.ReadFile(file)
	require.NoError(t, err)
	code, out, errs, err := command(t, "characterise", "stiffness", folder, "--bench", filepath.Join(dir, "bench.toml"),
		"--pressure-range", "80 bar..120 bar", "--expiry", "2027-03-14", "--write", file, "--volume", "50 mL")
	require.NoError(t, err, errs)
	assert.Equal(t, exitPass, code, errs)
	assert.Contains(t, out, "4 steps; a quick step reads 1.1")
	after, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(string(after), string(before)), "old blocks and comments stay word for word")

	b, err := bench.Load(filepath.Join(dir, "bench.toml"))
	require.NoError(t, err)
	known, why := b.Characterisation("HV-1", "a", "mineral hydraulic oil ISO VG 32", 100e5, m.started)
	require.NotNil(t, known, why)
	assert.InDelta(t, 12e11, known.Stiffness.Value, 3*known.Stiffness.StdUncertainty)
	assert.Equal(t, 4.5e5, known.ThermalCoefficient.Value, "of the older block")
	assert.Contains(t, known.Source, "stiffness: characterise stiffness")
}

func TestSettlingAndBlankFromTheCommandLine(t *testing.T) {
	dir := t.TempDir()
	m := reference()
	m.hold, m.settling, m.tau = 700, 0.6, 60
	m.body = func(t float64) float64 { return 22 + 0.1*t/3600 }
	folder := m.write(t, dir)
	code, out, errs, err := command(t, "characterise", "settling", folder, "--window", "20s..780s", "--pressure-range", "80 bar..120 bar", "--expiry", "2027-03-14")
	require.NoError(t, err)
	assert.Equal(t, exitPass, code, errs)
	assert.Contains(t, out, "settling_amplitude = ")
	assert.Contains(t, out, "settling_correlation = ")
	assert.Contains(t, out, "for a settling that ends")

	code, out, _, err = command(t, "characterise", "blank", folder, "--window", "400s..770s", "--thermal-coefficient", "4.6 ± 0.1 bar/K")
	require.NoError(t, err)
	assert.Equal(t, exitPass, code)
	assert.Contains(t, out, `no [[characterisation]] block: it needs --pressure-range (e.g. "80 bar..120 bar") and --expiry`)
	assert.NotContains(t, out, "\ndrift = ")
	code, out, _, err = command(t, "characterise", "blank", folder, "--window", "400s..770s", "--thermal-coefficient", "4.6 ± 0.1 bar/K",
		"--pressure-range", "80 bar..120 bar", "--expiry", "2027-03-14")
	require.NoError(t, err)
	assert.Equal(t, exitPass, code)
	assert.Contains(t, out, "noise = \"0.01")
	assert.Contains(t, out, "drift = ")

	m.started, m.body = m.started.Add(time.Hour), func(t float64) float64 { return 22 + 2*t/3600 }
	code, _, errs, err = command(t, "characterise", "thermal", m.write(t, dir))
	require.NoError(t, err)
	assert.Equal(t, exitInconclusive, code)
	assert.Contains(t, errs, "time and temperature cannot be told apart")
	assert.Contains(t, errs, "make the temperature go up and down")
}

// What is no recording to characterise by is refused, each with its reason.
func TestCharacteriseRefusesRecordingsOfTheWrongKind(t *testing.T) {
	dir := t.TempDir()
	m := reference()
	m.hold = 200
	good := m.write(t, dir)
	challenged := m
	challenged.serial = "HV1-00002"
	leak := record.Leak{Value: 1000, U: 10, Quantity: si.PressureRate, Written: "known"}
	challenged.challenge = &record.Challenge{Code: "K1", Circuit: "a", Known: leak, Own: leak}
	imposed := challenged.write(t, dir)
	open := m
	open.serial = "HV1-00003"
	cut := open.write(t, dir)
	path := filepath.Join(cut, "datapackage.json")
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, bytes.Replace(text, []byte(`"closed"`), []byte(`"open"`), 1), 0o644))
	for _, bad := range []struct {
		want string
		args []string
	}{
		{"a second time, want each run once", []string{"blank", good, good}},
		{"found a known-leak challenge, want a run without an imposed leak", []string{"blank", imposed}},
		{"found a recording that is still open, or was cut short, want one that has ended", []string{"blank", cut}},
		{"--pressure-range: found a run at ", []string{"blank", good, "--pressure-range", "180 bar..220 bar"}},
		{`--step: found "1 mL", want this only with characterise stiffness`, []string{"thermal", good, "--step", "1 mL"}},
		{`--lag: found "3 s", want this only with characterise stiffness, settling, blank`, []string{"thermal", good, "--lag", "3 s"}},
		{"bench.toml: found a file, want the folder of a recording", []string{"thermal", filepath.Join(dir, "bench.toml")}},
	} {
		_, out, _, err := command(t, append([]string{"characterise"}, bad.args...)...)
		require.ErrorContains(t, err, bad.want)
		assert.Empty(t, out)
		assert.NotContains(t, err.Error(), "\n")
	}
	// A hold that may not be judged warns.
	low := m
	low.serial, low.leak = "HV1-00004", 15 // below the start window when the hold begins
	_, _, errs, err := command(t, "characterise", "blank", low.write(t, dir))
	require.NoError(t, err)
	assert.Contains(t, errs, "warning: HV1-00004 of 2026-09-14 06:00:00: its hold may not be judged, and its figures are to be doubted: ")
	// A gross leak is no blank.
	leaking := m
	leaking.serial, leaking.leak = "HV1-00005", 1.8
	code, out, errs, err := command(t, "characterise", "blank", leaking.write(t, dir))
	require.NoError(t, err)
	assert.Equal(t, exitInconclusive, code)
	assert.Contains(t, errs, "that is a leak")
	assert.Empty(t, out)
	_, _, _, err = command(t, "challenge", imposed, imposed)
	assert.ErrorContains(t, err, "a second time, want each run once")
}

// A bench held to known leaks: what it finds is right, what a wrong
// coefficient makes of it is not, and the unit never gets a PASS.
func TestChallengesOfABench(t *testing.T) {
	dir := t.TempDir()
	barMin := 1e5 / 60
	for i, imposed := range []float64{0, 0.1, 0.3, 0.6, 0.8, 0.2} {
		m := reference()
		m.hold, m.interval, m.seed = 300, 200*time.Millisecond, uint64(10+i)
		m.coefficient, m.lag, m.leak = 4.5, 37, 0.02+imposed
		m.started = m.started.Add(time.Duration(i) * time.Hour)
		m.body = func(t float64) float64 { return 22 + 0.5*t/3600 }
		m.challenge = &record.Challenge{Code: "K" + string(rune('A'+i)), Circuit: "a",
			Known: record.Leak{Value: imposed * barMin, U: 0.005 * barMin, Quantity: si.PressureRate, Written: "known"},
			Own:   record.Leak{Value: 0.02 * barMin, U: 0.002 * barMin, Quantity: si.PressureRate, Written: "own"}}
		if i == 5 {
			m.leak += 0.3 // the bench, or the leak, is not what it should be
		}
		m.write(t, dir)
	}
	code, out, errs, err := command(t, "challenge", dir, "--json", filepath.Join(dir, "c.json"), "--pdf", filepath.Join(dir, "c.pdf"), "--png", filepath.Join(dir, "c.png"))
	require.NoError(t, err, errs)
	assert.Equal(t, exitFail, code, "one was not passed")
	assert.Contains(t, out, "evaluated after the statistical form of EPA/530/UST-90/004")
	assert.NotContains(t, out, "certified")
	assert.Contains(t, out, "5 of 6, one-sided 95 % bounds")
	assert.Contains(t, out, "2 of 2, one-sided 95 % bounds", "leaks above the limit were seen")
	text, err := os.ReadFile(filepath.Join(dir, "c.json"))
	require.NoError(t, err)
	assert.Contains(t, string(text), `"p_detection"`)

	folders, err := recordingsIn(dir)
	require.NoError(t, err)
	for _, folder := range folders {
		rec, err := record.Open(folder)
		require.NoError(t, err)
		r, assessments, _, err := result.Assess(rec, options(1))
		require.NoError(t, err)
		require.NotNil(t, r.Challenge)
		assert.Equal(t, "INCONCLUSIVE", r.Verdict, "a challenge never gives a unit's verdict")
		assert.Contains(t, r.Reasons[0], "known-leak challenge K")
		for _, l := range r.Circuits[0].Tests[0].Limits {
			assert.Equal(t, "INCONCLUSIVE", l.Verdict)
		}
		assert.Equal(t, "INCONCLUSIVE", assessments[0].Verdict.String())
	}

	// Before a test: the last challenge counts, and it was not passed.
	b, err := bench.Load(filepath.Join(dir, "bench.toml"))
	require.NoError(t, err)
	now := reference().started.Add(5*time.Hour + 30*time.Minute)
	last, err := lastChallenge(dir, b.Name, now)
	require.NoError(t, err)
	assert.Equal(t, "KF", last.Challenge.Code)
	last, err = lastChallenge(dir, b.Name, now.Add(-time.Hour))
	require.NoError(t, err)
	assert.Equal(t, "KE", last.Challenge.Code, "not of the future")
	p := loadProcedure(t, dir, "challenge_every = \"8 h\"\nunchallenged = \"refuse\"\n")
	var warned bytes.Buffer
	assert.NoError(t, warnUnchallenged(&warned, b, p, dir, now.Add(-time.Hour)))
	assert.Empty(t, warned.String())
	assert.ErrorContains(t, warnUnchallenged(&warned, b, p, dir, now), "challenge KF of ")
	assert.ErrorContains(t, warnUnchallenged(&warned, b, p, t.TempDir(), now), "no known-leak challenge of bench Bench 1")
	p = loadProcedure(t, dir, "challenge_every = \"10 min\"\n")
	assert.NoError(t, warnUnchallenged(&warned, b, p, dir, now.Add(-time.Hour)))
	assert.Contains(t, warned.String(), "warning: ")
	assert.Contains(t, warned.String(), "the last one passed within 10m0s")
}

func loadProcedure(t *testing.T, dir, keys string) *procedure.Procedure {
	t.Helper()
	text, err := os.ReadFile(filepath.Join(dir, "hold.toml"))
	require.NoError(t, err)
	p, err := procedure.Parse("hold.toml", []byte(keys+string(text)))
	require.NoError(t, err)
	return p
}
