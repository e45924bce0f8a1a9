package main

import (
	"bytes"
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestParagraphsBreakBetweenWords(t *testing.T) {
	var out bytes.Buffer
	assert.Same(t, &out, paragraphs(&out), "what is no terminal gets lines as they are")

	b := &breaker{w: &out, width: 24}
	fmt.Fprint(b, "LOOK FIRST: ")
	fmt.Fprint(b, "the plug of link a, then this\n  seen: nothing at all came in time\nshort\n\n")
	assert.Equal(t, "LOOK FIRST: the plug of\nlink a, then this\n  seen: nothing at all\n  came in time\nshort\n\n", out.String())
}
