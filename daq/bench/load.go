package bench

import (
	"path/filepath"

	"holdbench/daq/strict"
)

// Load reads a bench file and the characterisation file that it names, which
// is looked for beside it. Faults in either are *strict.Error values, all of
// a file at once.
func Load(path string) (*Bench, error) {
	text, err := strict.ReadFile(path, "a bench file")
	if err != nil {
		return nil, err
	}
	b, err := Parse(path, text)
	if err != nil {
		return nil, err
	}
	if b.CharacterisationPath == "" {
		return b, nil
	}
	path = b.CharacterisationPath
	if !filepath.IsAbs(path) {
		path = filepath.Join(filepath.Dir(b.Path), path)
	}
	text, err = strict.ReadFile(path, "the characterisation file that "+b.Path+" names")
	if err != nil {
		return nil, err
	}
	if err := b.AttachCharacterisation(path, text); err != nil {
		return nil, err
	}
	return b, nil
}
