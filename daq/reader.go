package daq

import (
	"context"
	"fmt"
	"math"
	"time"
)

// reader reads one line. It is the line's only owner.
type reader struct {
	clock Clock
	out   *delivery
	index int
	line  Line
	start time.Duration
	each  []follow

	outputs bool // something on the line can be driven
	orders  *orders
	scanner *Scanner // whose paces are kept
}

// follow is what is remembered of one source between two scans.
type follow struct {
	tick int64         // polled: how many intervals after start the next scan is due
	good time.Duration // when the last good scan was
	gap  *Event        // the gap that is open

	failures int // in a row
	signals  []Signal
	faults   []*Event // by signal: the fault that is open

	outputs outputs
}

func newReader(s *Scanner, index int, start time.Duration) *reader {
	r := &reader{clock: s.clock, out: s.out, index: index, line: s.lines[index], start: start,
		orders: &s.orders[index], scanner: s}
	r.outputs = r.hasOutputs()
	for _, src := range r.line.Sources {
		r.each = append(r.each, follow{
			good:    start,
			signals: make([]Signal, len(src.Channels)),
			faults:  make([]*Event, len(src.Channels)),
			outputs: outputs{
				on: make([]bool, len(src.Outputs)), unsafe: make([]string, len(src.Outputs)), told: make([]bool, len(src.Outputs)),
			},
		})
		r.mistrust(len(r.each)-1, "scanning begins", nil)
	}
	return r
}

// run reads until ctx ends; ready is called once the goroutine has joined the
// clock, or has found that it need not.
func (r *reader) run(ctx context.Context, ready func()) {
	switch {
	case len(r.line.Sources) == 0:
		ready()
	case r.line.Sources[0].Streams:
		ready()
		r.stream(ctx)
	default:
		leave := r.clock.Join()
		defer leave()
		ready()
		r.poll(ctx)
	}
}

// poll asks each source on its own grid, start + k·interval. A tick that has
// passed while the line was busy is left out; the grid never shifts.
func (r *reader) poll(ctx context.Context) {
	r.makeAllSafe(ctx)
	for {
		i, due := r.next()
		if r.wait(ctx, due, func() { r.carryOut(ctx) }) != nil {
			return
		}
		f, tick := &r.each[i], r.each[i].tick
		asked := r.clock.Now()
		err := r.sample(ctx, i)
		switch {
		case err == nil:
			at := r.rising(i, r.stamp(i, asked+(r.clock.Now()-asked)/2))
			r.pace(i, func(p *pace) { p.polled(at, due, tick) })
			r.scan(i, at)
			f.failures = 0
			r.makeSafe(ctx, i)
		case ctx.Err() != nil || !r.failed(ctx, i, err):
			return
		default:
			if f.failures++; f.failures == patience {
				r.mistrust(i, "its instrument gave no answer", err)
			}
		}
		f.tick = max(tick, r.elapsed(i)+r.rested(i)) + 1
	}
}

// patience is how many failures in a row an instrument may have before it is
// taken for dead.
const patience = 3

// rested returns how many ticks more a source is left alone that has failed
// several times in a row, so that a dead instrument does not take the line
// away from the others on it.
func (r *reader) rested(i int) int64 {
	failures := r.each[i].failures - patience
	if failures < 0 || len(r.line.Sources) == 1 {
		return 0
	}
	pause := min(firstPause<<min(failures, 8), longestPause)
	return int64(pause / r.line.Sources[i].Interval)
}

// next returns the source that is due first and when.
func (r *reader) next() (source int, due time.Duration) {
	for i, src := range r.line.Sources {
		at := r.start + time.Duration(r.each[i].tick)*src.Interval
		if i == 0 || at < due {
			source, due = i, at
		}
	}
	return source, due
}

// elapsed returns the last tick of a source that is not in the future.
func (r *reader) elapsed(i int) int64 {
	return int64((r.clock.Now() - r.start) / r.line.Sources[i].Interval)
}

// stream waits for one line after another. The goroutine is not joined to the
// clock while it waits: bytes on their way hold a lock-step clock.
func (r *reader) stream(ctx context.Context) {
	r.makeAllSafe(ctx)
	for {
		r.carryOut(ctx)
		began := time.Now()
		err := r.sample(ctx, 0)
		at := r.clock.Now()
		switch {
		case err == nil:
			at = r.rising(0, r.stamp(0, at))
			r.silent(at)
			r.pace(0, func(p *pace) { p.streamed(at) })
			r.scan(0, at)
			r.makeSafe(ctx, 0)
		case ctx.Err() != nil:
			return
		case r.gone(err):
			leave := r.clock.Join()
			ok := r.failed(ctx, 0, err)
			leave()
			if !ok {
				return
			}
		default:
			if r.quiet(at) {
				r.openGap(0, err.Error())
			}
			if time.Since(began) < firstPause && !r.rest(ctx) {
				return
			}
		}
	}
}

// rest keeps a source that fails at once from being asked without a pause.
func (r *reader) rest(ctx context.Context) bool {
	defer r.clock.Join()()
	return r.clock.Sleep(ctx, r.clock.Now()+firstPause) == nil
}

// quiet says whether the stream has said nothing for longer than two
// intervals of the clock.
func (r *reader) quiet(now time.Duration) bool {
	return now-r.each[0].good > 2*r.line.Sources[0].Interval
}

// silent marks a gap that is known only now that it is over.
func (r *reader) silent(now time.Duration) {
	if r.line.Sources[0].Interval > 0 && r.quiet(now) {
		r.openGap(0, "nothing came")
	}
}

// stamp is when what source i last said was so; otherwise is for a source that
// cannot tell.
func (r *reader) stamp(i int, otherwise time.Duration) time.Duration {
	if r.line.Sources[i].Stamp == nil {
		return otherwise
	}
	return r.line.Sources[i].Stamp()
}

// rising is when a scan counts as made: its stamp, but after the one before.
func (r *reader) rising(i int, at time.Duration) (rising time.Duration) {
	r.pace(i, func(p *pace) { rising = p.rising(at) })
	return rising
}

// pace has a source's timing changed.
func (r *reader) pace(i int, change func(*pace)) {
	r.scanner.pacing.Lock()
	defer r.scanner.pacing.Unlock()
	change(&r.scanner.paces[r.index][i])
}

func (r *reader) sample(ctx context.Context, i int) error {
	f := &r.each[i]
	for k := range f.signals {
		f.signals[k] = Signal{Raw: math.NaN(), Health: Missing}
	}
	src := r.line.Sources[i]
	err := src.Instrument.Sample(ctx, f.signals)
	if src.News != nil {
		for _, e := range src.News() {
			e.At = r.clock.Now()
			e.Until = e.At
			r.event(e)
		}
	}
	return err
}

// scan sends on what source i said at the instant at.
func (r *reader) scan(i int, at time.Duration) {
	src, f := r.line.Sources[i], &r.each[i]
	readings := make([]Reading, len(src.Channels))
	for k, channel := range src.Channels {
		readings[k].Channel = channel
	}
	src.Convert(at, readings, f.signals)
	for k := range readings {
		if readings[k].Health != Healthy {
			readings[k].Value = math.NaN()
		}
	}
	r.closeGap(i, at)
	f.good = at
	now := r.clock.Now()
	scan := Scan{At: at, Instrument: src.Name, Readings: readings}
	r.out.put(parcel{when: now, line: r.index, scan: &scan})
	if src.Found != nil {
		for _, e := range src.Found(scan) {
			r.event(e)
		}
	}
	for k := range readings {
		r.watchHealth(i, k, readings[k].Health, at)
	}
}

// failed marks the gap and, when the line itself is gone, opens it again. It
// returns false when ctx ended before that succeeded.
func (r *reader) failed(ctx context.Context, i int, err error) bool {
	if !r.gone(err) {
		r.openGap(i, err.Error())
		return true
	}
	for k := range r.line.Sources {
		text := "line " + r.line.Name + ": the port is gone"
		if k == i {
			text = err.Error() // which names the question that was out
		}
		r.openGap(k, text)
		r.mistrust(k, "its line was gone", err)
	}
	why := err.Error()
	for pause := firstPause; ; pause = min(2*pause, longestPause) {
		if r.wait(ctx, r.clock.Now()+pause, func() { r.refuse(false) }) != nil {
			return false
		}
		if r.opened(ctx, &why) {
			r.makeAllSafe(ctx)
			r.skip()
			return ctx.Err() == nil
		}
	}
}

// opened opens the line again, or tells why it does not open where that is
// not what is known in why already.
func (r *reader) opened(ctx context.Context, why *string) bool {
	if r.line.Reopen == nil {
		return true
	}
	err := r.line.Reopen(ctx)
	if err == nil {
		return true
	}
	if text := err.Error(); text != *why && ctx.Err() == nil {
		*why = text
		now := r.clock.Now()
		r.event(Event{At: now, Until: now, Kind: Fault, Subject: r.line.Name, Text: text})
	}
	return false
}

// skip leaves out the ticks that passed while the line was gone.
func (r *reader) skip() {
	for i, src := range r.line.Sources {
		if !src.Streams {
			r.each[i].tick = r.elapsed(i) + 1
		}
	}
}

func (r *reader) gone(err error) bool { return r.line.Gone != nil && r.line.Gone(err) }

func (r *reader) openGap(i int, why string) {
	f := &r.each[i]
	if f.gap != nil {
		return
	}
	f.gap = &Event{At: f.good, Until: Open, Kind: Gap, Subject: r.line.Sources[i].Name, Text: why}
	r.event(*f.gap)
}

func (r *reader) closeGap(i int, until time.Duration) {
	f := &r.each[i]
	if f.gap == nil {
		return
	}
	f.gap.Until = until
	r.event(*f.gap)
	f.gap = nil
}

// watchHealth opens a fault when a channel's reading may no longer be used,
// for the reason that it gives, and closes it when that ends.
func (r *reader) watchHealth(i, k int, h Health, at time.Duration) {
	open := &r.each[i].faults[k]
	if *open != nil && (*open).Text != h.String() {
		(*open).Until = at
		r.event(**open)
		*open = nil
	}
	if *open == nil && h != Healthy {
		*open = &Event{At: at, Until: Open, Kind: Fault, Subject: r.line.Sources[i].label(k), Text: h.String()}
		r.event(**open)
	}
}

// label names a source's k-th channel in events.
func (s Source) label(k int) string {
	if k < len(s.Labels) {
		return s.Labels[k]
	}
	return fmt.Sprintf("%s, channel %d", s.Name, k+1)
}

func (r *reader) event(e Event) {
	r.out.put(parcel{when: r.clock.Now(), line: r.index, event: &e})
}
