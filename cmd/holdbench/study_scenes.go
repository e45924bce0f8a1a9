package main

import (
	"fmt"
	"strings"

	"holdbench/daq/simbench"
)

func sceneNames() (out []string) {
	for _, s := range simbench.Scenes {
		out = append(out, s.Name)
	}
	return out
}

// sceneStories say in a line each what happens in a scene.
var sceneStories = map[string]string{
	"tight":    "room still; the limit is 0.5 bar/min, far above what five minutes detect",
	"steady":   "room still; limit 0.2 bar/min, as in the others unless said",
	"ramp":     "the room warms or cools by some 4 K an hour",
	"heating":  "a heating goes on and off: room 4 K up and down in some 7 min",
	"door":     "a door opens during the hold: the room falls by some 4 K for a minute",
	"pumped":   "the hold begins 40 s after pressurising, while the liquid still cools",
	"lagging":  "the probe is slower than the liquid, the heating goes on and off",
	"instep":   "the room warms evenly by 12 K an hour: temperature goes in step with time",
	"settling": "long hoses: 1.2 bar of settling with 90 s, hold after 60 s, limit on leak_rate",
	"air":      "trapped air goes into solution, 1.2 bar with 600 s, limit on leak_rate",
	"faults":   "one fault: spikes, a drop-out, a channel that sticks, or a jump",
	"short":    "a hold of 1 min, limit 0.25 bar/min",
	"long":     "a hold of 8 h, room by day and night, limit 0.3 bar/h",
}

// sceneLines are the stories as help shows them.
func sceneLines() string {
	var b strings.Builder
	for _, name := range sceneNames() {
		fmt.Fprintf(&b, "  %-9s %s\n", name, sceneStories[name])
	}
	return b.String()
}
