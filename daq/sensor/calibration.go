package sensor

import "sort"

// Point is one comparison with a reference, SI.
type Point struct{ Reference, Indicated float64 }

// Correct returns the value that the reference would have shown where the
// channel indicates x: the correction Reference − Indicated is interpolated
// between the points and is that of the end point outside. Points are in
// rising order of Indicated; without points x is returned.
func Correct(points []Point, x float64) float64 {
	if len(points) == 0 {
		return x
	}
	i := sort.Search(len(points), func(i int) bool { return points[i].Indicated >= x })
	switch i {
	case 0:
		return x + points[0].correction()
	case len(points):
		return x + points[len(points)-1].correction()
	}
	a, b := points[i-1], points[i]
	part := (x - a.Indicated) / (b.Indicated - a.Indicated)
	return x + a.correction() + part*(b.correction()-a.correction())
}

func (p Point) correction() float64 { return p.Reference - p.Indicated }
