package main

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"

	"holdbench/analysis/verdict"
)

func TestEveryVerdictHasLargeLettersThatFitATerminal(t *testing.T) {
	shapes := map[string]string{}
	for _, v := range []verdict.Verdict{verdict.Pass, verdict.Fail, verdict.Inconclusive} {
		text := large(v.String())
		assert.Equal(t, 5, strings.Count(text, "\n"), v)
		for row := range strings.Lines(text) {
			assert.LessOrEqual(t, utf8.RuneCountInString(row), 80, v)
		}
		assert.NotContains(t, shapes, text)
		shapes[text] = v.String()
	}
	assert.Empty(t, large("pass"))
}
