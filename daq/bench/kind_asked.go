package bench

import (
	"cmp"
	"strings"

	"holdbench/daq"
	"holdbench/daq/strict"
	"holdbench/daq/textline"
)

// usualIdentity is the query by which IEEE 488.2 instruments are asked what
// they are.
const usualIdentity = "*IDN?"

// textAsked is an instrument that answers queries with lines of text.
var textAsked = kind{
	name:           TextAsked,
	instrumentKeys: append([]string{"query", "query_terminator", "identify", "identity", "setup"}, formatKeys...),
	channelKeys:    append([]string{"query"}, placeKeys...),
	instrument:     askedInstrument,
	place:          askedPlace,
	same:           sameText,
	open:           openAsked,
}

func askedInstrument(i *Instrument, _ *Link, t *strict.Table) {
	format(i, t)
	i.Text.Query = textline.Characters(t.Optional("query").Text())
	i.Text.QueryTerminator = textline.Terminator(t.Optional("query_terminator").Text())
	if i.Text.QueryTerminator == "" {
		i.Text.QueryTerminator = cmp.Or(i.Text.Terminator, "\n")
	}
	i.Text.Identify = usualIdentity
	if k := t.Optional("identify"); k.Given() {
		i.Text.Identify = textline.Characters(k.Written())
		if k.Written() == "" && k.Found() != `""` {
			k.Fault(k.Found(), `a query in quotes, or "" for none`)
		}
	}
	identity := t.Optional("identity")
	if i.Text.Identity = identity.Text(); i.Text.Identify == "" {
		identity.Refuse("where identify asks for it only")
	}
	i.Text.Setup = texts(t.Optional("setup"))
}

func askedPlace(c *Channel, from Instrument, t *strict.Table) {
	if k := t.Optional("query"); k.Given() {
		c.Place.Query = textline.Characters(k.Text())
	} else if from.Text.Query == "" {
		t.Required("query").Fault("nothing", `what asks for this channel, e.g. "MEAS?", here or with instrument `+strict.Quote(from.Name))
	}
	c.Place.Query = cmp.Or(c.Place.Query, from.Text.Query)
	textPlace(c, from, t, true)
}

// mistakable says that the replies of two instruments on one line begin alike,
// so that a late one of the one could be taken for the other's.
func (i Instrument) mistakable(other Instrument) bool {
	a, b := i.Text.Prefix, other.Text.Prefix
	return i.Kind == TextAsked && other.Kind == TextAsked && (strings.HasPrefix(a, b) || strings.HasPrefix(b, a))
}

func openAsked(s *daq.Source, w *wire, in Instrument, channels []Channel) {
	if w.dialogue == nil {
		w.dialogue = textline.NewDialogue(w.port, w.clock)
	}
	c := textline.AskConfig{
		Name: in.Name, Format: in.Format(), Terminator: in.Text.Terminator,
		QueryTerminator: in.Text.QueryTerminator, Setup: in.Text.Setup, Identify: in.Text.Identify, Identity: in.Text.Identity,
	}
	order := map[string]int{} // of queries
	for i, channel := range channels {
		k, ok := order[channel.Place.Query]
		if !ok {
			k = len(c.Queries)
			order[channel.Place.Query] = k
			c.Queries = append(c.Queries, textline.Query{Text: channel.Place.Query})
		}
		c.Queries[k].Fields = append(c.Queries[k].Fields, channel.TextField())
		c.Queries[k].Signals = append(c.Queries[k].Signals, i)
	}
	instrument := textline.NewAsked(w.dialogue, c)
	s.Instrument, s.Stamp, s.News = instrument, instrument.Stamp, instrument.News
	line := w.dialogue
	s.Counted = func() string { return line.Counts().String() }
}
