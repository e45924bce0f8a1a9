package bench

import (
	"slices"
	"strings"

	"holdbench/daq"
	"holdbench/daq/link"
	"holdbench/daq/modbus"
	"holdbench/daq/strict"
	"holdbench/daq/textline"
)

// kind is one kind of instrument: what it is called in bench files, which
// keys of its own it has there, and how it is opened. Each kind has a file of
// its own, kind_….go.
type kind struct {
	name string
	// streams says that it sends unasked, and then owns its link alone.
	streams bool
	// instrumentKeys and channelKeys are the keys of [[instrument]] and
	// [[channel]] that only some kinds know; for another kind they are faults.
	instrumentKeys, channelKeys []string
	// instrument reads the kind's keys of [[instrument]]; on is its link, nil
	// where that is not known.
	instrument func(i *Instrument, on *Link, t *strict.Table)
	// place reads where in the instrument's answer a channel stands.
	place func(c *Channel, from Instrument, t *strict.Table)
	// same says that two channels of one instrument stand in the same place, so
	// that one of them would show what the other measures. Of both everything
	// was read. The first result is the key at fault, empty for none.
	same func(c, other Channel) (key, found, want string)
	// open fills the source's Instrument, and Stamp where the kind knows it.
	open func(s *daq.Source, w *wire, in Instrument, channels []Channel)

	// outputKeys are the kind's keys of [[output]]; outputPlace reads them;
	// sameOutput says of two outputs of one instrument that they are one. All
	// nil for a kind that has no outputs.
	outputKeys  []string
	outputPlace func(o *Output, from Instrument, t *strict.Table)
	sameOutput  func(o, other Output) (key, found, want string)
	// drive returns what switches the outputs, which are all of the instrument
	// in, in bench order; the driver counts them so. It is called after open,
	// and only where the bench file says outputs = true.
	drive func(s *daq.Source, w *wire, in Instrument, outputs []Output) daq.Driver
}

// kinds is every kind of instrument there is.
var kinds = []kind{
	modbusRTU,
	modbusTCP,
	textStream,
	textAsked,
}

func kindOf(name string) (kind, bool) {
	for _, k := range kinds {
		if k.name == name {
			return k, true
		}
	}
	return kind{}, false
}

// kindNames are the words for the kinds of instruments.
func kindNames() []string {
	var names []string
	for _, k := range kinds {
		names = append(names, k.name)
	}
	return names
}

// refuseOthers notes each key that only other kinds know; keys picks a kind's
// keys. Where the kind is not known nothing is judged, but every key counts as
// known.
func (k kind) refuseOthers(t *strict.Table, keys func(kind) []string) {
	whose := map[string][]string{}
	var order []string
	for _, other := range kinds {
		for _, key := range keys(other) {
			if whose[key] == nil {
				order = append(order, key)
			}
			whose[key] = append(whose[key], other.name)
		}
	}
	for _, key := range order {
		given := t.Optional(key)
		if k.name != "" && !slices.Contains(keys(k), key) {
			given.Refuse(strings.Join(whose[key], ", ") + " only")
		}
	}
}

// wire is an open link and what its instruments share.
type wire struct {
	port  *link.Port
	clock daq.Clock
	// dialogue of this line; nil until a text instrument needs it.
	dialogue *textline.Dialogue
	master   modbus.Master // of this line; nil until a Modbus instrument needs it
}
