package sequence

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestParseAnswer(t *testing.T) {
	for line, want := range map[string]Answer{
		"":                           {Kind: GoOn},
		"   \r":                      {Kind: GoOn},
		"vented":                     {Kind: ConfirmVented},
		"VENTED tap open":            {Kind: ConfirmVented, Text: "tap open"},
		"override  gauge reads zero": {Kind: OverrideVented, Text: "gauge reads zero"},
		"abort hose burst":           {Kind: AbortTest, Text: "hose burst"},
		"note Ümlaut":                {Kind: TakeNote, Text: "Ümlaut"},
	} {
		got, help, err := ParseAnswer(line)
		require.NoError(t, err, line)
		require.False(t, help)
		require.Equal(t, want, got, line)
	}
	_, help, err := ParseAnswer("?")
	require.NoError(t, err)
	require.True(t, help)
	for line, want := range map[string]string{
		"yes":      `"yes" is no answer: press Enter alone to go on, type vented to confirm, or ? for all words`,
		"abort":    `abort: found nothing after it, want a text, e.g. "abort hose burst"`,
		"override": `override: found nothing after it, want a text, e.g. "override hose burst"`,
		"note  ":   `note: found nothing after it, want a text, e.g. "note hose burst"`,
	} {
		_, _, err := ParseAnswer(line)
		require.EqualError(t, err, want)
	}
}

func FuzzParseAnswer(f *testing.F) {
	f.Add("override  x")
	f.Add("\x00note\t")
	f.Fuzz(func(t *testing.T, line string) {
		a, help, err := ParseAnswer(line)
		if err != nil || help {
			require.Empty(t, a)
			return
		}
		require.Equal(t, strings.TrimSpace(a.Text), a.Text)
	})
}
