package analysis

import "math"

const (
	// longestDropout is how long a signal may be away and still be taken for
	// the same, s.
	longestDropout = 10.0
	// dropoutJump is the share of the record's highest pressure by which a
	// signal jumps when it drops out.
	dropoutJump = 0.3
)

// bridgeDropouts takes out the places where the signal jumped away within two
// readings and came back, as suddenly, to the pressure that it had left: a
// loose plug, not a release and a press-up that met the same pressure by
// chance. It returns when that was.
func (tr *track) bridgeDropouts() (found []span) {
	same := max(8*tr.noise, 0.002*tr.top)
	keep := 0
	for i := 0; i < tr.len(); i++ {
		if back := tr.backAfter(i, same); back > 0 {
			found = append(found, span{tr.from[i], tr.to[back-1]})
			i = back
		}
		tr.t[keep], tr.v[keep], tr.from[keep], tr.to[keep] = tr.t[i], tr.v[i], tr.from[i], tr.to[i]
		keep++
	}
	tr.t, tr.v, tr.from, tr.to = tr.t[:keep], tr.v[:keep], tr.from[:keep], tr.to[:keep]
	return found
}

// backAfter returns where the signal is back that jumps away at i, 0 where it
// does not jump or does not come back.
func (tr *track) backAfter(i int, same float64) int {
	jump := dropoutJump * tr.top
	if i < 2 || !(tr.v[i-1] >= jump) || !(math.Abs(tr.v[i]-tr.v[i-1]) >= jump) {
		return 0
	}
	before := tr.v[i-1]
	for j := i + 1; j < tr.len() && tr.t[j]-tr.t[i-1] <= longestDropout; j++ {
		if math.Abs(tr.v[j]-before) > same {
			continue
		}
		away := max(i, j-2)
		if math.Abs(tr.v[away]-tr.v[j]) >= jump {
			return j
		}
		return 0
	}
	return 0
}
