package discovery

import (
	"cmp"
	"context"
	"errors"
	"slices"
	"time"

	"holdbench/daq/link"
	"holdbench/daq/modbus"
)

// Registers are the registers of one slave that can be read, as the requests
// that read them.
type Registers struct {
	line   Asker
	pace   time.Duration
	blocks []modbus.Request
}

// How registers are looked for: a block at a time, one by one where the slave
// refuses it, until so many in a row were refused that no more are expected.
const (
	blockSize   = 16
	emptyInARow = 32
)

// Scan finds out which registers from first to last a slave gives, of the
// functions 3 and 4. It asks no more often than once in pace. tell, which may
// be nil, is called after each block. The errors are those of the line,
// and modbus.ErrNoAnswer and its like once the slave falls silent several
// times in a row; what was found is then still good.
func Scan(ctx context.Context, line Asker, address byte, first, last int, pace time.Duration, tell func(function byte, first, count, given int)) (*Registers, error) {
	r := &Registers{line: line, pace: pace}
	for _, function := range []byte{modbus.ReadInput, modbus.ReadHolding} {
		empty := 0
		for start := first; start <= last && empty < emptyInARow; start += blockSize {
			count := min(blockSize, last-start+1)
			n, err := r.probe(ctx, modbus.Request{Address: address, Function: function, Start: uint16(start), Count: uint16(count)}, patience)
			if tell != nil {
				tell(function, start, count, n)
			}
			if errors.Is(err, errNoFunction) {
				break
			}
			if err != nil {
				return r, err
			}
			if empty += count; n > 0 {
				empty = 0
			}
		}
	}
	return r, nil
}

// errNoFunction says that a slave has none of a function's registers.
var errNoFunction = errors.New("no such function")

// patience is how often a slave is asked again that does not answer.
const patience = 3

// probe asks for a block, and where it is refused for each of its registers; it
// returns how many were given.
func (r *Registers) probe(ctx context.Context, q modbus.Request, patience int) (int, error) {
	_, err := r.ask(ctx, q)
	var refused modbus.Exception
	switch {
	case err == nil:
		r.blocks = append(r.blocks, q)
		return int(q.Count), nil
	case errors.As(err, &refused) && refused == 1:
		return 0, errNoFunction
	case errors.As(err, &refused) && q.Count == 1:
		return 0, nil
	case errors.As(err, &refused):
	case errors.Is(err, link.ErrTimeout) && patience > 0 && ctx.Err() == nil:
		return r.probe(ctx, q, patience-1)
	default:
		return 0, err
	}
	// One by one: who refuses a block for one register that is missing says
	// nothing of the others.
	given := 0
	for i := range q.Count {
		n, err := r.probe(ctx, modbus.Request{Address: q.Address, Function: q.Function, Start: q.Start + i, Count: 1}, patience)
		given += n
		if err != nil {
			return given, err
		}
	}
	return given, nil
}

func (r *Registers) ask(ctx context.Context, q modbus.Request) ([]uint16, error) {
	began := time.Now()
	values, err := r.line.Read(ctx, q)
	if !rest(ctx, began, r.pace) && err == nil {
		err = ctx.Err()
	}
	return values, err
}

// Count is how many registers can be read.
func (r *Registers) Count() int {
	n := 0
	for _, b := range r.blocks {
		n += int(b.Count)
	}
	return n
}

// Snapshot reads all of them once. A block that is not answered now is left
// out, unless none is; the errors are those of the line.
func (r *Registers) Snapshot(ctx context.Context) (Snapshot, error) {
	s := Snapshot{modbus.ReadHolding: {}, modbus.ReadInput: {}}
	var failed error
	good := 0
	for _, b := range r.blocks {
		values, err := r.ask(ctx, b)
		if err != nil {
			failed = errors.Join(failed, err)
			if ctx.Err() != nil || errors.Is(err, link.ErrGone) {
				return nil, failed
			}
			continue
		}
		good++
		for i, v := range values {
			s[b.Function][b.Start+uint16(i)] = v
		}
	}
	if good == 0 {
		return nil, failed
	}
	return s, nil
}

// Merge joins requests whose registers follow each other where the slave
// answers so long a request, so that reading all takes less time. The errors
// are those of a line that is gone, and the context's.
func (r *Registers) Merge(ctx context.Context) error {
	slices.SortFunc(r.blocks, func(a, b modbus.Request) int {
		return cmp.Or(cmp.Compare(a.Function, b.Function), cmp.Compare(a.Start, b.Start))
	})
	var merged []modbus.Request
	for _, b := range r.blocks {
		if n := len(merged); n > 0 {
			joined := merged[n-1]
			if joined.Function == b.Function && joined.Start+joined.Count == b.Start && int(joined.Count)+int(b.Count) <= modbus.MaxRegisters {
				joined.Count += b.Count
				_, err := r.ask(ctx, joined)
				if err == nil {
					merged[n-1] = joined
					continue
				}
				if ctx.Err() != nil || errors.Is(err, link.ErrGone) {
					return err
				}
			}
		}
		merged = append(merged, b)
	}
	r.blocks = merged
	return nil
}
