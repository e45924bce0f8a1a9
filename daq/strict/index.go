package strict

import (
	"errors"
	"sort"
	"strconv"

	"github.com/pelletier/go-toml/v2/unstable"
)

// place is where a key, table or list element stands, with the places below.
type place struct {
	line int
	keys map[string]*place
	list []*place
	// given is true once the key has a value or the table its header, so
	// that a second one is seen.
	given bool
}

func (p *place) key(name string) *place {
	if p == nil {
		return nil
	}
	return p.keys[name]
}

func (p *place) element(i int) *place {
	if p == nil || i < 0 || i >= len(p.list) {
		return nil
	}
	return p.list[i]
}

// lineOr is the place's line, or otherwise where the place is not known.
func (p *place) lineOr(otherwise int) int {
	if p == nil || p.line == 0 {
		return otherwise
	}
	return p.line
}

// indexer walks a document's expressions and notes where everything stands.
type indexer struct {
	file   string
	starts []int // byte offset of each line
	faults *Faults
}

// index returns the places of a document as far as it can be read. It names
// every key that is given twice, and the line where the document stops being
// TOML.
func index(file string, text []byte, faults *Faults) *place {
	x := indexer{file: file, faults: faults, starts: []int{0}}
	for i, c := range text {
		if c == '\n' {
			x.starts = append(x.starts, i+1)
		}
	}
	root := &place{line: 1}
	at := root
	var parser unstable.Parser
	parser.Reset(text)
	for parser.NextExpression() {
		switch e := parser.Expression(); e.Kind {
		case unstable.Table:
			at = x.header(root, e, false)
		case unstable.ArrayTable:
			at = x.header(root, e, true)
		case unstable.KeyValue:
			x.value(at, e)
		}
	}
	var stop *unstable.ParserError
	if errors.As(parser.Error(), &stop) {
		offset := int(parser.Range(stop.Highlight).Offset)
		faults.Add(syntaxFault(file, text, sort.SearchInts(x.starts, offset+1), stop.Message))
	}
	return root
}

// header enters [a.b] or [[a.b]] and returns the table that follows it.
func (x *indexer) header(root *place, e *unstable.Node, list bool) *place {
	at := root
	for key := e.Key(); key.Next(); {
		n := key.Node()
		at = x.descend(at, n)
		if !key.IsLast() {
			at = at.latest()
			continue
		}
		line := x.line(n)
		switch {
		case at.given:
			x.twice("["+string(n.Data)+"]", line, at.line)
		case list:
			at = at.append(line)
		case len(at.list) > 0:
			name := plainKey(string(n.Data))
			x.faults.Add(&Error{File: x.file, Line: line, Field: name, Found: "[" + name + "]",
				Want: "[[" + name + "]] as in line " + strconv.Itoa(at.line)})
			at = at.append(line) // as was meant, so that its keys are not taken for those of the one before
		default:
			at.line, at.given = line, true
		}
	}
	return at
}

// value enters key = value below at.
func (x *indexer) value(at *place, e *unstable.Node) {
	for key := e.Key(); key.Next(); {
		n := key.Node()
		at = x.descend(at, n)
		if !key.IsLast() {
			continue
		}
		line := x.line(n)
		if at.given || len(at.list) > 0 || len(at.keys) > 0 {
			x.twice(string(n.Data), line, at.line)
			return
		}
		at.line, at.given = line, true
	}
	x.inside(at, e.Value())
}

// inside notes the places within a list or an inline table.
func (x *indexer) inside(at *place, v *unstable.Node) {
	for children := v.Children(); children.Next(); {
		n := children.Node()
		switch {
		case v.Kind == unstable.Array && n.Kind != unstable.Comment:
			element := &place{line: at.line}
			if n.Raw.Length > 0 {
				element.line = x.line(n)
			}
			at.list = append(at.list, element)
			x.inside(element, n)
		case v.Kind == unstable.InlineTable && n.Kind == unstable.KeyValue:
			x.value(at, n)
		}
	}
}

// descend returns the place of key n below at, made when new.
func (x *indexer) descend(at *place, n *unstable.Node) *place {
	name := string(n.Data)
	if at.keys == nil {
		at.keys = map[string]*place{}
	}
	below := at.keys[name]
	if below == nil {
		below = &place{line: x.line(n)}
		at.keys[name] = below
	}
	return below
}

// append adds an element to a list of tables and returns it.
func (p *place) append(line int) *place {
	p.list = append(p.list, &place{line: line, given: true})
	return p.latest()
}

// latest is the table that a header's path goes on from.
func (p *place) latest() *place {
	if len(p.list) == 0 {
		return p
	}
	return p.list[len(p.list)-1]
}

func (x *indexer) line(n *unstable.Node) int {
	return sort.SearchInts(x.starts, int(n.Raw.Offset)+1)
}

func (x *indexer) twice(key string, line, first int) {
	x.faults.Add(&Error{File: x.file, Line: line, Field: plainKey(key), Found: "it a second time",
		Want: "it once (first in line " + strconv.Itoa(first) + ")"})
}
