package result

import (
	"fmt"
	"strings"

	"holdbench/daq/record"
)

// AppliedCalibration says which certificates were applied to a recording in
// the place of those with which it was made.
type AppliedCalibration struct {
	Name     string             `json:"name"`
	Hash     string             `json:"hash"`
	Channels []AppliedToChannel `json:"channels"`
}

// AppliedToChannel is one channel's certificate; Was is the one before, empty
// where it had none.
type AppliedToChannel struct {
	Channel     string `json:"channel"`
	Certificate string `json:"certificate"`
	Was         string `json:"was"`
}

// ConvertedAgain is how a reason begins that tells of other certificates.
const ConvertedAgain = "readings converted again from the raw numbers"

// Text says it in one line.
func (a AppliedCalibration) Text() string {
	var parts []string
	for _, c := range a.Channels {
		was := "none before"
		if c.Was != "" {
			was = "before " + c.Was
		}
		parts = append(parts, fmt.Sprintf("%s by certificate %s (%s)", c.Channel, c.Certificate, was))
	}
	return fmt.Sprintf("%s with %s: %s", ConvertedAgain, a.Name, strings.Join(parts, ", "))
}

// recalibrate converts the run's readings again with the calibrations of a
// file. The errors are *strict.Error for what is wrong with the file.
func (r *Run) recalibrate(file record.SourceFile) error {
	was, err := r.Bench.Converter()
	if err != nil {
		return err
	}
	old := r.Bench.Channels
	names, err := r.Bench.Recalibrate(file.Name, []byte(file.Text))
	if err != nil {
		return err
	}
	is, err := r.Bench.Converter()
	if err != nil {
		return err
	}
	if r.Recording, err = r.Recording.Reconverted(was, is); err != nil {
		return fmt.Errorf("%s: %w", r.Recording.Dir, err)
	}
	r.Series = r.Recording.Series()
	r.Calibration = &AppliedCalibration{Name: file.Name, Hash: file.Hash}
	for _, name := range names {
		ch, i, _ := r.Bench.Channel(name)
		c := AppliedToChannel{Channel: name, Certificate: ch.Calibration.Certificate}
		if before := old[i].Calibration; before != nil {
			c.Was = before.Certificate
		}
		r.Calibration.Channels = append(r.Calibration.Channels, c)
	}
	return nil
}
