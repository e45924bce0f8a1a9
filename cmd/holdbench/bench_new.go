package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"holdbench/daq/bench"
	"holdbench/daq/discovery"
	"holdbench/daq/link"
	"holdbench/daq/record"
	"holdbench/daq/strict"
)

func benchCommand(code *int) *cobra.Command {
	cmd := &cobra.Command{
		Use:   "bench",
		Short: "Make a bench file",
		Args:  noArguments,
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(benchNewCommand(code))
	return cmd
}

// benchNewFlags are the answers that were given before the questions.
type benchNewFlags struct {
	ports, channels, circuits  []string
	baud                       int
	frame, addresses           string
	registers, kind            string
	listen, watch, rate, check float64
	interval                   string
	name, location, out        string
	idn, yes, replace          bool
	query                      string
	trace                      string
}

func benchNewCommand(code *int) *cobra.Command {
	var f benchNewFlags
	cmd := &cobra.Command{
		Use:   "new",
		Short: "Lead from instruments on a line to a commented bench file",
		Long: `new leads from nothing to a bench file. It asks for a port, listens whether text
comes by itself, and else looks for Modbus instruments: it says what it would
send and asks first, sends read requests only (functions 3 and 4), slowly, and
never writes. It shows the registers under every type and order, finds out which
one moves when you pump up, asks what it measures, writes the file and checks
it. Every question can be answered by a flag:

  --channel "place=input 0 int16; name=trapped_a; unit=0.001 mA;
             scaling=4..20 mA = 0..250 bar; range=0..250 bar"
  --circuit "name=a; trapped=trapped_a; feed=unmeasured; temperature=body"

Of a channel, place is where it stands ("input 0 int16", "holding 10 float32
low-first", "column 2"), or "moved" for what moves most within --watch seconds;
the other keys are name, quantity, unit (a number times a factor is "0.001 mA"),
scaling, thermocouple, cold_junction, rtd, reference, range, accuracy,
certificate ("number, date, due date, standard uncertainty") and instrument,
where there are several.`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error { return f.run(cmd, code) },
	}
	flags := cmd.Flags()
	flags.StringArrayVar(&f.ports, "port", nil, "`PORT` to look at, e.g. /dev/ttyUSB0, COM3, tcp://10.0.0.7:502; may be given again")
	flags.IntVar(&f.baud, "baud", 0, "look with this baud only")
	flags.StringVar(&f.frame, "frame", "", "look with these data bits, parity and stop bits only, e.g. 8E1")
	flags.StringVar(&f.addresses, "address", "", "addresses to look at, e.g. 1-16 or 1,5,17 (of Modbus TCP the unit)")
	flags.StringVar(&f.kind, "kind", "", "of a tcp port: modbus-tcp, or modbus-rtu behind a device server")
	flags.StringVar(&f.registers, "registers", "0-127", "registers to look at, e.g. 0-127")
	flags.StringArrayVar(&f.channels, "channel", nil, "`KEY=VALUE;...`, a channel, see above; may be given again")
	flags.StringArrayVar(&f.circuits, "circuit", nil, "`KEY=VALUE;...`, a circuit, see above; may be given again")
	flags.Float64Var(&f.listen, "listen", 3, "seconds to listen with each framing for text that comes by itself; 0: not at all")
	flags.Float64Var(&f.watch, "watch", 0, "seconds to watch registers while something is moved; 0: until Enter")
	flags.Float64Var(&f.rate, "rate", 10, "most requests a second")
	flags.StringVar(&f.interval, "interval", "", "time between two scans, e.g. \"0.1 s\"")
	flags.StringVar(&f.name, "name", "", "name of the bench")
	flags.StringVar(&f.location, "location", "", "where it stands")
	flags.StringVar(&f.out, "out", "", "`FILE` to write")
	flags.BoolVar(&f.idn, "idn", false, "where nothing else is found, send *IDN? (IEEE 488.2) and wait for an answer")
	flags.StringVar(&f.query, "query", "", "the question by which such an instrument gives a reading, e.g. READ?")
	flags.BoolVar(&f.yes, "yes", false, "take the offered answer wherever there is one; sends what is said then")
	flags.BoolVar(&f.replace, "replace", false, "replace the file if it is there")
	flags.Float64Var(&f.check, "check", 5, "seconds of the check at the end; 0: none")
	traceFlag(cmd, &f.trace)
	return cmd
}

// newBench is a bench file in the making, with what makes it.
type newBench struct {
	*dialogue
	cmd   *cobra.Command
	flags benchNewFlags
	trace func(link.Traced)

	framing   discovery.Framing // from flags; zero parts are to be found
	addresses []byte
	registers [2]int
	pace      time.Duration
	channels  []answers // --channel, those not used yet
	circuits  []answers

	draft bench.Draft
}

func (f benchNewFlags) run(cmd *cobra.Command, code *int) error {
	b, err := f.begin(cmd)
	if err != nil {
		return err
	}
	trace, end, err := openTrace(f.trace, cmd.ErrOrStderr())
	if err != nil {
		return err
	}
	defer end()
	b.trace = trace
	if err := b.lead(cmd.Context()); err != nil {
		return err
	}
	path, err := b.write()
	if err != nil || f.check <= 0 {
		return err
	}
	b.say("")
	made, err := bench.Load(path)
	if err != nil {
		return err
	}
	display, err := parseUnits("")
	if err != nil {
		return err
	}
	return check(cmd, made, bench.WireOptions{Trace: trace}, display, time.Duration(f.check*float64(time.Second)), code)
}

// begin reads the flags, all faults at once.
func (f benchNewFlags) begin(cmd *cobra.Command) (*newBench, error) {
	var faults []error
	refuse := func(flag string, found any, want string) {
		faults = append(faults, &strict.Error{Field: flag, Found: fmt.Sprint(found), Want: want})
	}
	b := &newBench{cmd: cmd, flags: f, framing: discovery.Framing{Baud: f.baud}}
	person := false
	if in, ok := cmd.InOrStdin().(*os.File); ok {
		person = term.IsTerminal(int(in.Fd()))
	}
	b.dialogue = newDialogue(cmd.InOrStdin(), cmd.OutOrStdout(), f.yes, person)
	if f.baud != 0 && (f.baud < 50 || f.baud > 12_000_000) {
		refuse("--baud", f.baud, "a whole number from 50 to 12000000")
	}
	if f.frame != "" {
		frame, err := discovery.ParseFrame(f.frame)
		if err != nil {
			refuse("--frame", strict.Quote(f.frame), "data bits, parity and stop bits, e.g. 8E1")
		}
		frame.Baud = f.baud
		b.framing = frame
	}
	var ok bool
	if b.addresses, ok = parseAddresses(f.addresses); !ok {
		refuse("--address", strict.Quote(f.addresses), "addresses from 0 to 255, e.g. 1-16 or 1,5,17")
	}
	if b.registers, ok = parseRange(f.registers); !ok {
		refuse("--registers", strict.Quote(f.registers), "the first and the last register from 0, at most 2000 of them, e.g. 0-127")
	}
	if f.kind != "" && f.kind != bench.ModbusTCP && f.kind != bench.ModbusRTU {
		refuse("--kind", strict.Quote(f.kind), "modbus-tcp or modbus-rtu")
	}
	if !(f.rate >= 0.5 && f.rate <= 100) {
		refuse("--rate", f.rate, "0.5 to 100 a second")
	}
	b.pace = time.Duration(float64(time.Second) / f.rate)
	for _, x := range []struct {
		flag  string
		value float64
	}{{"--listen", f.listen}, {"--watch", f.watch}, {"--check", f.check}} {
		if !(x.value >= 0 && x.value <= 3600) {
			refuse(x.flag, x.value, "0 to 3600 seconds")
		}
	}
	var err error
	if b.channels, err = parseAnswers("--channel", f.channels, channelKeys); err != nil {
		faults = append(faults, err)
	}
	if b.circuits, err = parseAnswers("--circuit", f.circuits, circuitKeys); err != nil {
		faults = append(faults, err)
	}
	return b, errors.Join(faults...)
}

// lead asks everything.
func (b *newBench) lead(ctx context.Context) error {
	b.say("This leads to a bench file: what is wired to what. Nothing is sent before you")
	b.say("have agreed to it, and nothing is ever written to an instrument.")
	for n := 0; ; n++ {
		more, err := b.port(ctx, n)
		if err != nil {
			return err
		}
		if !more {
			break
		}
	}
	if len(b.draft.Channels) == 0 {
		return errors.New("bench new: no channel was found or named, so there is no bench file to write;\n" +
			"  look at the wires and try again, or write one by hand (holdbench check says what is wrong with it)")
	}
	for _, left := range b.channels {
		return &strict.Error{Field: "--channel", Found: strict.Quote(left.text), Want: "a channel of an instrument that was found"}
	}
	return b.positions()
}

// port looks at one more port; false when there is none.
func (b *newBench) port(ctx context.Context, n int) (more bool, err error) {
	if n > 0 && n >= len(b.flags.ports) {
		if len(b.flags.ports) > 0 {
			return false, nil
		}
		another, err := b.agree("--port", "\nIs there another port with instruments?", false)
		if err != nil || !another {
			return false, err
		}
	}
	for {
		port, err := b.choosePort(n)
		if err != nil {
			return false, err
		}
		err = b.line(ctx, port)
		if !b.person || n < len(b.flags.ports) || !notToBeOpened(err) {
			return true, err
		}
		b.say("%s", wrapped(strings.ReplaceAll(err.Error(), "\n", ";"), columns)) // a slip of the pen must not cost what was answered before
	}
}

// notToBeOpened says whether a port is not there, or not to be had.
func notToBeOpened(err error) bool {
	return errors.Is(err, link.ErrNoSuchPort) || errors.Is(err, link.ErrBusy) || errors.Is(err, link.ErrPermission)
}

// write writes the file, unless it is there and may not be replaced.
func (b *newBench) write() (string, error) {
	b.say("")
	name, err := b.ask(question{flag: "--name", text: "Name of the bench", offered: "Bench 1", given: b.flags.name, wasGiven: b.flags.name != ""})
	if err != nil {
		return "", err
	}
	location, err := b.ask(question{flag: "--location", text: "Where it stands", optional: true, given: b.flags.location, wasGiven: b.flags.location != ""})
	if err != nil {
		return "", err
	}
	b.draft.Name, b.draft.Location = name, location
	b.draft.Made = "Made by holdbench bench new on " + time.Now().Format("2006-01-02")
	text := b.draft.Text()
	given := b.flags.out
	for {
		path, err := b.ask(question{flag: "--out", text: "File to write", offered: "bench.toml", given: given, wasGiven: given != ""})
		if err != nil {
			return "", err
		}
		if _, err := bench.Parse(path, []byte(text)); err != nil {
			return "", fmt.Errorf("bench new: these answers do not make a bench file:\n%w", err)
		}
		free, err := b.mayWrite(path)
		if err != nil {
			return "", err
		}
		if !free {
			given = ""
			continue
		}
		if err := record.ReplaceFile(path, func(w io.Writer) error { _, err := io.WriteString(w, text); return err }); err != nil {
			return "", fault(err)
		}
		b.say("written: %s", path)
		return path, nil
	}
}

// mayWrite says whether a file may be written there.
func (b *newBench) mayWrite(path string) (bool, error) {
	if folder, err := os.Stat(filepath.Dir(path)); err != nil || !folder.IsDir() {
		return false, &strict.Error{Field: "--out", Found: strict.Quote(path), Want: "a file in a folder that exists"}
	}
	_, err := os.Lstat(path)
	if errors.Is(err, os.ErrNotExist) || b.flags.replace {
		return true, nil
	}
	if err != nil {
		return false, fault(err)
	}
	if b.yes || !b.person {
		return false, &strict.Error{Field: "--out", Found: strict.Quote(path) + ", which is there already", Want: "another name, or --replace"}
	}
	return b.agree("--replace", path+" is there already. Replace it?", false)
}

// answers are those of one --channel or --circuit, by key.
type answers struct {
	text string
	by   map[string]string
}

// parseAnswers reads KEY=VALUE;KEY=VALUE.
func parseAnswers(flag string, texts []string, keys []string) ([]answers, error) {
	var out []answers
	for _, text := range texts {
		a := answers{text: text, by: map[string]string{}}
		for _, part := range strings.Split(text, ";") {
			if strings.TrimSpace(part) == "" {
				continue
			}
			key, value, ok := strings.Cut(part, "=")
			key, value = strings.TrimSpace(key), strings.TrimSpace(value)
			if !ok || !slices.Contains(keys, key) {
				return nil, &strict.Error{Field: flag, Found: strict.Quote(strings.TrimSpace(part)), Want: "KEY=VALUE with a key of " + strings.Join(keys, ", ")}
			}
			a.by[key] = value
		}
		out = append(out, a)
	}
	return out, nil
}
