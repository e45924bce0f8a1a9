//go:build race

package decay

const raceDetector = true
