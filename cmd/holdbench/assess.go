package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"holdbench/daq/record"
	"holdbench/daq/strict"
	"holdbench/report"
	"holdbench/report/result"
)

func assessCommand(code *int) *cobra.Command {
	var f assessFlags
	cmd := &cobra.Command{
		Use:   "assess FOLDER|FILE.csv…",
		Short: "Judge recordings again, or any logger's CSV files",
		Long: `assess judges what was recorded, from the raw readings.

A FOLDER is a recording of this program, also one that is running or was cut
short: it is judged by the bench, procedure and characterisation that it
carries, and the next result-N.json and page are written beside it. Nothing that
is there already is changed.

A FILE.csv is any logger's: columns, units, delimiter, decimal mark, encoding and
time format are found out, or said by flags or a settings file; the hold is found
in the pressure itself, unless --hold gives it. A limit is needed for a verdict.

  holdbench assess run.csv --limit "decay_rate 0.2 bar/min" \
      --thermal-coefficient "4.5 ± 0.5 bar/K" --pdf run.pdf

In a ± b, b is the standard uncertainty (k = 1).

Exit code: 0 PASS, 10 FAIL, 11 INCONCLUSIVE, 12 not completed, 3 bad input; of
several the gravest.`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return errors.New("assess: found nothing, want folders of recordings or CSV files")
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, args []string) error { return f.assess(cmd, args, code) },
	}
	f.add(cmd)
	return cmd
}

// judged is one input judged, with what its pages need.
type judged struct {
	// path is the input as given.
	path   string
	result *result.Result
	facts  report.Facts
	// messages are for the person: where a page went that could not go where
	// it belongs.
	messages []string
	// about says what was read, and what was written where.
	about []string
}

func (f *assessFlags) assess(cmd *cobra.Command, args []string, code *int) error {
	settings, err := f.settings(cmd)
	if err != nil {
		return err
	}
	table := cmd.OutOrStdout()
	if f.json == "-" {
		table = cmd.ErrOrStderr()
	}
	var all []judged
	var faults []error
	for _, path := range args {
		j, err := f.judgeOne(cmd, path, settings)
		if err != nil {
			faults = append(faults, err)
			continue
		}
		j.path = path
		all = append(all, j)
		fmt.Fprintln(table, verdictText(j.result, settings.shown.Display))
		for _, line := range j.about {
			fmt.Fprintln(table, "  "+line)
		}
		for _, m := range j.messages {
			fmt.Fprintln(cmd.ErrOrStderr(), m)
		}
		*code = gravest(*code, exitOf(j.result))
	}
	if len(all) > 0 {
		if f.lot != "" {
			faults = append(faults, unwritable("--lot", f.lot, writeLot(f.lot, all, settings.shown)))
		}
		faults = append(faults, unwritable("--json", f.json, f.writeJSON(cmd.OutOrStdout(), all, len(args))), f.writePages(cmd.ErrOrStderr(), all, len(args)))
	}
	return errors.Join(faults...)
}

// judgeOne judges a recording's folder or a logger's file.
func (f *assessFlags) judgeOne(cmd *cobra.Command, path string, s assessSettings) (judged, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return judged{}, &strict.Error{File: path, Found: "no such file or folder", Want: "the folder of a recording, or a CSV file", Cause: err}
	case err != nil:
		return judged{}, fault(err)
	case !info.IsDir() && f.calibration != "":
		return judged{}, &strict.Error{Field: "--calibration", Found: path + ", a file without raw signals", Want: "the folder of a recording"}
	case !info.IsDir():
		return f.judgeFile(path, s)
	}
	if err := f.onlyForFiles(cmd); err != nil {
		return judged{}, err
	}
	calibration, err := f.readCalibration()
	if err != nil {
		return judged{}, err
	}
	return judgeFolder(path, s.shown, reassessment, calibration)
}

// readCalibration reads the file of --calibration; nothing where none is given.
func (f *assessFlags) readCalibration() (record.SourceFile, error) {
	if f.calibration == "" {
		return record.SourceFile{}, nil
	}
	text, err := strict.ReadFile(f.calibration, "a file of [[calibration]]")
	if err != nil {
		return record.SourceFile{}, err
	}
	return record.SourceFile{Name: filepath.Base(f.calibration), Hash: strict.Hash(text), Text: string(text)}, nil
}

// writeJSON writes one object, or an array for several inputs.
func (f *assessFlags) writeJSON(stdout io.Writer, all []judged, inputs int) error {
	if f.json == "" {
		return nil
	}
	write := func(w io.Writer) error {
		if inputs == 1 {
			return result.Encode(w, all[0].result)
		}
		results := make([]*result.Result, len(all))
		for i, j := range all {
			results[i] = j.result
		}
		enc := json.NewEncoder(w)
		enc.SetIndent("", "  ")
		enc.SetEscapeHTML(false)
		return enc.Encode(results)
	}
	if f.json == "-" {
		return write(stdout)
	}
	return record.ReplaceFile(f.json, write)
}

// writePages draws the pages asked for. For one input --pdf and --png are
// files; for several, or where they are folders, they are folders in which
// each input gets a file of its own name.
func (f *assessFlags) writePages(stderr io.Writer, all []judged, inputs int) error {
	pdf, err := pagePath("--pdf", f.pdf, inputs)
	if err != nil {
		return err
	}
	png, err := pagePath("--png", f.png, inputs)
	if err != nil {
		return err
	}
	for _, j := range all {
		stem := pageStem(j)
		messages, err := drawPages(j.facts, pdf(stem+".pdf"), png(stem+".png"))
		for _, m := range messages {
			fmt.Fprintln(stderr, m)
		}
		if err != nil {
			return unwritable("--pdf, --png", f.pdf+" "+f.png, err)
		}
	}
	return nil
}

// pageStem is the name of an input's page in a folder: serial number, date and
// run; without a date the input's own name, told apart from its namesakes.
func pageStem(j judged) string {
	if !j.result.Started.IsZero() {
		return record.FileStem(j.result.SerialNumber, j.result.Started, j.result.RunID)
	}
	base := filepath.Base(j.path)
	return strings.TrimSuffix(base, filepath.Ext(base)) + "_" + j.result.RunID
}

// pagePath returns where an input's page goes, by the name that it has in a
// folder; nowhere for an empty path.
func pagePath(flag, path string, inputs int) (func(name string) string, error) {
	info, err := os.Stat(path)
	isFolder := err == nil && info.IsDir()
	if path != "" && inputs > 1 && !isFolder {
		if err := os.MkdirAll(path, 0o777); err != nil {
			return nil, &strict.Error{Field: flag, Found: path, Want: "a folder, because there are several inputs", Cause: err}
		}
		isFolder = true
	}
	return func(name string) string {
		if isFolder {
			return filepath.Join(path, name)
		}
		return path
	}, nil
}

// judgeFolder judges a recording's folder and writes result and pages into
// it. The number is the next free one, but at least atLeast. A calibration, if
// not empty, takes the place of the bench's own.
func judgeFolder(folder string, shown style, atLeast int, calibration record.SourceFile) (judged, error) {
	rec, err := record.Open(folder)
	if err != nil {
		return judged{}, err
	}
	if rec.Meta.Comparison != nil {
		return judged{}, &strict.Error{File: folder, Found: "a calibration of " + strict.Quote(rec.Meta.Comparison.Channel), Want: "the recording of a unit's test; this one is for calibrate --from"}
	}
	number, err := result.NextNumber(folder)
	if err != nil {
		return judged{}, err
	}
	o := options(max(number, atLeast))
	o.Calibration = calibration
	r, assessments, run, err := result.Assess(rec, o)
	if err != nil {
		return judged{}, err
	}
	path, err := result.Write(folder, r)
	if err != nil {
		return judged{}, fault(err)
	}
	facts, err := factsOf(filepath.Base(path), r, assessments, run, shown)
	if err != nil {
		return judged{}, fault(err)
	}
	if calibration.Name != "" {
		facts.Files = append(facts.Files, report.NewFile(calibration.Name, []byte(calibration.Text)))
	}
	j := judged{result: r, facts: facts}
	pdf := filepath.Join(folder, facts.ReportFile)
	j.messages, err = drawPages(facts, pdf, strings.TrimSuffix(pdf, ".pdf")+".png")
	j.about = []string{"result: " + path, "pages: " + pdf}
	return j, fault(err)
}
