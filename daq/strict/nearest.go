package strict

import "strings"

// nearest returns the known key that a mistyped one most likely stands for:
// the one reached with the fewest changed, added, missing or swapped letters
// (restricted Damerau–Levenshtein distance, upper and lower case alike), at
// most a third of its length; empty when none is near.
func nearest(key string, known []string) string {
	best, least := "", len([]rune(key))/3+1
	for _, k := range known {
		if d := distance([]rune(plain(key)), []rune(plain(k))); d < least {
			best, least = k, d
		}
	}
	return best
}

// plain lets "Vent Feed" and "vent-feed" stand for "vent_feed".
func plain(key string) string {
	return strings.NewReplacer(" ", "_", "-", "_").Replace(strings.ToLower(key))
}

func distance(a, b []rune) int {
	before, last := make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range last {
		last[j] = j
	}
	for i, x := range a {
		now := make([]int, len(b)+1)
		now[0] = i + 1
		for j, y := range b {
			change := 1
			if x == y {
				change = 0
			}
			now[j+1] = min(last[j]+change, last[j+1]+1, now[j]+1)
			if i > 0 && j > 0 && x == b[j-1] && a[i-1] == y {
				now[j+1] = min(now[j+1], before[j-1]+1)
			}
		}
		before, last = last, now
	}
	return last[len(b)]
}
