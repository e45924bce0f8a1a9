package bench

import (
	"path/filepath"

	"holdbench/daq/strict"
)

// Load reads a bench file, and the characterisation and fluids files that it
// names, which are looked for beside it. Faults in one of them are
// *strict.Error values, all of a file at once.
func Load(path string) (*Bench, error) {
	text, err := strict.ReadFile(path, "a bench file")
	if err != nil {
		return nil, err
	}
	b, err := Parse(path, text)
	if err != nil {
		return nil, err
	}
	if err := b.companion(b.CharacterisationPath, "characterisation", b.AttachCharacterisation); err != nil {
		return nil, err
	}
	if err := b.companion(b.FluidsPath, "fluids", b.AttachFluids); err != nil {
		return nil, err
	}
	return b, nil
}

// companion reads a file that the bench file names, if it names one.
func (b *Bench) companion(path, what string, attach func(path string, text []byte) error) error {
	if path == "" {
		return nil
	}
	if !filepath.IsAbs(path) {
		path = filepath.Join(filepath.Dir(b.Path), path)
	}
	text, err := strict.ReadFile(path, "the "+what+" file that "+b.Path+" names")
	if err != nil {
		return err
	}
	return attach(path, text)
}
