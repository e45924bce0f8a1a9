package foreign

import (
	"fmt"
	"strconv"
)

// note keeps a sentence for the person who will read the result.
func (l *layout) note(format string, args ...any) {
	l.notes = append(l.notes, fmt.Sprintf(format, args...))
}

// plural is "1 line", "2 lines".
func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}

// mostNotes is how many notes of one kind name their line; the rest are
// counted.
const mostNotes = 5

// tally keeps the first notes of one kind and counts the others.
type tally struct {
	notes []string
	more  int
}

func (t *tally) add(format string, args ...any) {
	if len(t.notes) == mostNotes {
		t.more++
		return
	}
	t.notes = append(t.notes, fmt.Sprintf(format, args...))
}

// all returns the notes, the last one saying how many more there were.
func (t *tally) all(what string) []string {
	if t.more == 0 {
		return t.notes
	}
	return append(t.notes, fmt.Sprintf("and %d more: %s", t.more, what))
}
