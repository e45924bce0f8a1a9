package sequence

import (
	"fmt"
	"strings"
)

// Spoken lists what an operator can type, for help texts.
const Spoken = `Enter              go on
vented             confirm that the unit is vented
override <reason>  end the vent watch without proof; the reason is recorded
abort <reason>     abort the test; the recording and the vent watch go on
drive              drive what the phase release drives; only then, and by no other word
note <text>        write a note into the recording
?                  this list`

// ParseAnswer reads one typed line. help is true when the line asks for help.
// Words match in any case. It returns an error that says what was wanted when
// the line is none of Spoken, or when a needed reason is missing.
func ParseAnswer(line string) (a Answer, help bool, err error) {
	word, text, _ := strings.Cut(strings.TrimSpace(line), " ")
	a.Text = strings.TrimSpace(text)
	switch strings.ToLower(word) {
	case "":
		a.Kind = GoOn
	case "vented":
		a.Kind = ConfirmVented
	case "override":
		a.Kind = OverrideVented
	case "abort":
		a.Kind = AbortTest
	case "drive":
		a.Kind = DriveOutputs
	case "note":
		a.Kind = TakeNote
	case "?", "help":
		return Answer{}, true, nil
	default:
		return Answer{}, false, fmt.Errorf("%q is no answer: press Enter alone to go on, type vented to confirm, or ? for all words", word)
	}
	if a.Text == "" && (a.Kind == OverrideVented || a.Kind == AbortTest || a.Kind == TakeNote) {
		return Answer{}, false, fmt.Errorf("%s: found nothing after it, want a text, e.g. %q", a.Kind, string(a.Kind)+" hose burst")
	}
	return a, false, nil
}
