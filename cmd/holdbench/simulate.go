package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"syscall"

	"github.com/spf13/cobra"

	"holdbench/daq"
	"holdbench/daq/bench"
	"holdbench/daq/simbench"
	"holdbench/daq/strict"
)

func simulateCommand(*int) *cobra.Command {
	var path string
	var tcp, cycle bool
	var seed uint64
	cmd := &cobra.Command{
		Use:   "simulate --bench bench.toml",
		Short: "Put a bench's instruments, simulated, on pseudo-terminals or TCP ports",
		Long: `simulate answers in place of the instruments that a bench file names, and prints
where. Point run or check at it with --port, or with a bench file that names
these ports. The unit on it is invented; its figures come from the bench file's
[simulated] table. Type help for what your hands can do on it.`,
		Args: noArguments,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if path == "" {
				return &strict.Error{Field: "--bench", Found: "nothing", Want: "a bench file"}
			}
			b, err := bench.Load(path)
			if err != nil {
				return err
			}
			if !cmd.Flags().Changed("seed") && b.Simulated != nil && b.Simulated.Seed != 0 {
				seed = b.Simulated.Seed
			}
			return simulate(cmd, b, seed, tcp, cycle)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&path, "bench", "", "bench file (TOML)")
	flags.BoolVar(&tcp, "tcp", false, "use TCP ports of the loopback instead of pseudo-terminals")
	flags.BoolVar(&cycle, "cycle", false, "pump, lock, vent the feed side and release by itself, again and again")
	flags.Uint64Var(&seed, "seed", 1, "seed of the simulated noise")
	return cmd
}

func simulate(cmd *cobra.Command, b *bench.Bench, seed uint64, tcp, cycle bool) error {
	ctx, stop := signal.NotifyContext(cmd.Context(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	rig, err := simbench.New(b, daq.NewWallClock(), seed)
	if err != nil {
		return err
	}
	served, err := rig.Serve(ctx, simbench.ServeOptions{TCP: tcp})
	if err != nil {
		return fault(err)
	}
	out := cmd.OutOrStdout()
	fmt.Fprintf(out, "simulated bench %q: invented readings, no instrument is there\n", b.Name)
	for _, l := range b.Links {
		fmt.Fprintf(out, "  link %s: %s\n", l.Name, served.Ports[l.Name])
	}
	fmt.Fprintf(out, "in a second terminal:\n  holdbench check --bench %s%s\n", b.Path, portFlags(b, served.Ports))
	if cycle {
		c := simbench.DefaultCycle
		c.Tell = func(done string) { fmt.Fprintln(out, done) }
		go func() { _ = rig.RunCycle(ctx, c) }() // ends with the context, whose end is ours
	} else {
		fmt.Fprintln(out, "type help for what your hands can do; Ctrl-C ends")
	}
	go hands(ctx, cmd.InOrStdin(), out, rig)
	<-ctx.Done()
	return fault(served.Close())
}

// portFlags are the flags that point another command at the simulated ports.
func portFlags(b *bench.Bench, ports map[string]string) string {
	text := ""
	for _, l := range b.Links {
		text += fmt.Sprintf(" --port %s=%s", l.Name, ports[l.Name])
	}
	return text
}

// hands does what is typed, until the input ends.
func hands(ctx context.Context, in io.Reader, out io.Writer, rig *simbench.Rig) {
	lines := bufio.NewScanner(in)
	for ctx.Err() == nil && lines.Scan() {
		reply, err := rig.Command(lines.Text())
		switch {
		case err != nil:
			fmt.Fprintln(out, err)
		case reply != "":
			fmt.Fprintln(out, reply)
		}
	}
}

// wireOptions reads --port LINK=PORT, which stands in for the bench file's
// port of that link.
func wireOptions(b *bench.Bench, ports map[string]string) (bench.WireOptions, error) {
	var faults []error
	for name, port := range ports {
		if !slices.ContainsFunc(b.Links, func(l bench.Link) bool { return l.Name == name }) {
			faults = append(faults, &strict.Error{Field: "--port", Found: fmt.Sprintf("link %q", name), Want: "the name of a link in " + b.Path})
		}
		if port == "" {
			faults = append(faults, &strict.Error{Field: "--port", Found: fmt.Sprintf("no port for link %q", name), Want: "LINK=PORT"})
		}
	}
	return bench.WireOptions{Ports: ports}, errors.Join(faults...)
}

func portsFlag(cmd *cobra.Command, into *map[string]string) {
	cmd.Flags().StringToStringVar(into, "port", nil, "`LINK=PORT`, a port instead of the bench file's, e.g. of a simulated bench; may be given again")
	cmd.Flags().Lookup("port").DefValue = ""
}
