package main

import (
	"bytes"
	"encoding/gob"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"holdbench/analysis/study"
	"holdbench/daq/strict"
)

// keeper keeps the benches of a study that is not finished yet, a file each;
// one without a folder keeps none.
type keeper struct{ folder, asked string }

// keptBench is a bench's file. Asked says of which study it is.
type keptBench struct {
	Asked   string
	Tallies [][]study.Tally
}

// ready makes what the study writes to before it computes.
func (f studyFlags) ready() error {
	if f.readme != "" {
		if _, _, err := aroundTable(f.readme, studyBegin, studyEnd); err != nil {
			return err
		}
		w, err := os.OpenFile(f.readme, os.O_WRONLY, 0)
		if err != nil {
			return fault(fmt.Errorf("write %s: %w", f.readme, err))
		}
		if err := w.Close(); err != nil {
			return fault(fmt.Errorf("write %s: %w", f.readme, err))
		}
	}
	if f.out == "" {
		return nil
	}
	if err := os.MkdirAll(filepath.Join(f.out, "benches"), 0o755); err != nil {
		return fault(fmt.Errorf("create folder %s: %w", f.out, err))
	}
	return nil
}

// keeper is that of these flags; where the study does not go on with another,
// what that left is taken away.
func (f studyFlags) keeper() (keeper, error) {
	if f.out == "" {
		return keeper{}, nil
	}
	k := keeper{
		folder: filepath.Join(f.out, "benches"),
		asked:  fmt.Sprint(program, f.tests, f.seed, f.early, f.scenes, f.leaks),
	}
	if f.resume {
		return k, nil
	}
	old, err := filepath.Glob(filepath.Join(k.folder, "bench-*.gob"))
	if err != nil {
		return k, fault(err)
	}
	for _, path := range old {
		if err := os.Remove(path); err != nil {
			return k, fault(fmt.Errorf("remove %s: %w", path, err))
		}
	}
	return k, nil
}

// bench is what was kept of a bench, or else is tried now and kept.
func (k keeper) bench(number int, try func() [][]study.Tally) ([][]study.Tally, error) {
	if k.folder == "" {
		return try(), nil
	}
	path := filepath.Join(k.folder, fmt.Sprintf("bench-%04d.gob", number))
	text, err := os.ReadFile(path)
	if err == nil {
		var kept keptBench
		if err := gob.NewDecoder(bytes.NewReader(text)).Decode(&kept); err != nil || kept.Asked != k.asked {
			return nil, &strict.Error{File: path, Field: "--resume", Found: "a bench of another study, or a damaged one", Want: "that of the same program and flags; without --resume the study begins afresh"}
		}
		return kept.Tallies, nil
	}
	if !errors.Is(err, fs.ErrNotExist) {
		return nil, fault(fmt.Errorf("read %s: %w", path, err))
	}
	kept := keptBench{Asked: k.asked, Tallies: try()}
	var out bytes.Buffer
	if err := gob.NewEncoder(&out).Encode(kept); err != nil {
		return nil, fault(fmt.Errorf("keep bench %d: %w", number, err))
	}
	return kept.Tallies, replace(path, out.Bytes())
}

// forget takes away the benches of a finished study.
func (k keeper) forget() error {
	if k.folder == "" {
		return nil
	}
	if err := os.RemoveAll(k.folder); err != nil {
		return fault(fmt.Errorf("remove %s: %w", k.folder, err))
	}
	return nil
}
