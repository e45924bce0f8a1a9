//go:build !race

package analysis

const raceDetector = false
