package strict

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestNearestKeyIsTheOneThatWasMeant(t *testing.T) {
	known := []string{"range", "register", "raw_unit", "raw_scale", "vent_feed", "due", "date"}
	for key, want := range map[string]string{
		"rnage":     "range", // swapped
		"rangee":    "range",
		"rang":      "range",
		"Range":     "range",
		"registre":  "register",
		"raw-unit":  "raw_unit",
		"vent feed": "vent_feed",
		"data":      "date",
		"zebra":     "",
		"x":         "",
		"":          "",
	} {
		assert.Equal(t, want, nearest(key, known), key)
	}
}

func TestDistanceCountsSingleSlips(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"abc", "", 3}, {"abc", "acb", 1}, {"kitten", "sitting", 3}, {"ca", "abc", 3}} {
		assert.Equal(t, c.want, distance([]rune(c.a), []rune(c.b)), c.a+" "+c.b)
		assert.Equal(t, c.want, distance([]rune(c.b), []rune(c.a)), c.b+" "+c.a)
	}
}
