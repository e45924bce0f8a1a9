package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"holdbench/daq/strict"
)

func assessCommand(code *int) *cobra.Command {
	var units string
	cmd := &cobra.Command{
		Use:   "assess FOLDER…",
		Short: "Judge a recording again, also one that is running or was cut short",
		Long: `assess judges recordings again from their raw readings, by the bench, procedure
and characterisation that they carry, and writes the next result-N.json and page
beside them. Nothing that is there already is changed.

Exit code: 0 PASS, 10 FAIL, 11 INCONCLUSIVE, 12 not completed, 3 bad input; of
several recordings the gravest.`,
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) == 0 {
				return errors.New("assess: found no folder, want the folders of one or more recordings")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			display, err := parseUnits(units)
			if err != nil {
				return err
			}
			var faults []error
			for _, folder := range args {
				if err := recordingFolder(folder); err != nil {
					faults = append(faults, err)
					continue
				}
				r, err := judge(folder, display, reassessment)
				if err != nil {
					faults = append(faults, err)
					continue
				}
				fmt.Fprintln(cmd.OutOrStdout(), verdictText(r, display))
				*code = gravest(*code, exitOf(r))
			}
			return errors.Join(faults...)
		},
	}
	unitsFlag(cmd, &units)
	return cmd
}

// recordingFolder says in one line what is wrong with a folder's name.
func recordingFolder(folder string) error {
	info, err := os.Stat(folder)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return &strict.Error{File: folder, Found: "no such folder", Want: "the folder of a recording", Cause: err}
	case err != nil:
		return fault(err)
	case !info.IsDir():
		return &strict.Error{File: folder, Found: "a file", Want: "the folder of a recording, e.g. " + filepath.Dir(folder)}
	}
	return nil
}
