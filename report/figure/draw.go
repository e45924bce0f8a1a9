package figure

import (
	"image/color"
	"math"

	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"holdbench/report/lettering"
)

const (
	labelSize  = vg.Length(6.5)
	titleRow   = vg.Length(10) // above each panel: its axis title
	phaseRow   = vg.Length(9)  // above the first panel: the phases' names
	panelGap   = vg.Length(5)
	tickLength = vg.Length(2.6)
	labelGap   = vg.Length(3)
	timeRows   = vg.Length(18) // below the lowest panel: labels and title
	hairline   = vg.Length(0.4)
	// columnWidth is the finest detail that a page shows, a dot at 200 per
	// inch.
	columnWidth = vg.Inch / 200
)

// Draw draws f into r and nowhere else.
func Draw(c vg.Canvas, r vg.Rectangle, f Figure) {
	frames := f.frames(r)
	for i, p := range f.Panels {
		pen := pen{canvas: c, frame: frames[i], time: f.Time, y: p.Y}
		if i == 0 {
			pen.strip = f.strip()
		}
		pen.bands(f.Bands, f.Title)
		pen.grid()
		for _, l := range p.Lines {
			pen.line(l)
		}
		pen.axes(i == len(f.Panels)-1)
	}
}

// strip is the height of the row of phases' names: none without names or
// title.
func (f Figure) strip() vg.Length {
	if f.Title != "" {
		return phaseRow
	}
	for _, b := range f.Bands {
		if b.Name != "" {
			return phaseRow
		}
	}
	return 0
}

// frames returns the rectangles between the axes, aligned under each other.
func (f Figure) frames(r vg.Rectangle) []vg.Rectangle {
	n := len(f.Panels)
	var shares float64
	for _, p := range f.Panels {
		shares += p.Share
	}
	free := r.Size().Y - timeRows - vg.Length(n)*titleRow - vg.Length(n-1)*panelGap - f.strip()
	heights := make([]vg.Length, n)
	var gutter vg.Length
	for i, p := range f.Panels {
		heights[i] = free * vg.Length(p.Share/shares)
		gutter = max(gutter, labelWidth(p.Y, heights[i]))
	}
	frames := make([]vg.Rectangle, n)
	top := r.Max.Y
	for i, h := range heights {
		top -= titleRow
		if i == 0 {
			top -= f.strip()
		}
		frames[i] = vg.Rectangle{
			Min: vg.Point{X: r.Min.X + gutter + labelGap, Y: top - h},
			Max: vg.Point{X: r.Max.X - hairline, Y: top},
		}
		top -= h + panelGap
	}
	return frames
}

// upright returns the marks of an axis of that height, with as many labels as
// stand clear of each other.
func upright(a Axis, height vg.Length) (ticks []Tick) {
	for most := max(5, int(height/(1.7*labelSize))); most >= 2; most-- {
		ticks = Ticks(a.Low, a.High, most)
		if clear := 1.2 * labelSize; vg.Length(labelStep(ticks)/(a.High-a.Low))*height >= clear {
			break
		}
	}
	return ticks
}

// labelStep is the distance between two labels, +Inf where there are not two.
func labelStep(ticks []Tick) float64 {
	last := math.Inf(-1)
	for _, t := range ticks {
		if t.Label == "" {
			continue
		}
		if !math.IsInf(last, -1) {
			return t.Value - last
		}
		last = t.Value
	}
	return math.Inf(1)
}

func labelWidth(a Axis, height vg.Length) (w vg.Length) {
	for _, t := range upright(a, height) {
		w = max(w, lettering.Width(lettering.Regular(labelSize), t.Label))
	}
	return w
}

// pen draws one panel.
type pen struct {
	canvas  vg.Canvas
	frame   vg.Rectangle
	strip   vg.Length // above the frame, for the phases' names
	time, y Axis
}

func (p pen) atX(v float64) vg.Length {
	return p.frame.Min.X + vg.Length((v-p.time.Low)/(p.time.High-p.time.Low))*p.frame.Size().X
}

func (p pen) atY(v float64) vg.Length {
	return p.frame.Min.Y + vg.Length((v-p.y.Low)/(p.y.High-p.y.Low))*p.frame.Size().Y
}

// bands shades the phases and names those that are wide enough; a title stands
// in place of names.
func (p pen) bands(bands []Band, title string) {
	face := lettering.Regular(labelSize)
	top := p.frame.Max.Y + p.strip
	for _, b := range bands {
		left, right := max(p.atX(b.From), p.frame.Min.X), min(p.atX(b.To), p.frame.Max.X)
		if !(left < right) {
			continue
		}
		p.canvas.SetColor(b.Fill)
		p.canvas.Fill(rectangle(left, p.frame.Min.Y, right, top))
		if title == "" && p.strip > 0 && lettering.Width(face, b.Name) < right-left-4 {
			p.text(face, Soft, left+3, p.frame.Max.Y+2.3, b.Name)
		}
	}
	if p.strip > 0 {
		p.text(face, Soft, p.frame.Min.X+3, p.frame.Max.Y+2.3, lettering.Shorten(face, title, p.frame.Size().X-6))
		p.canvas.SetColor(Soft)
		p.canvas.SetLineWidth(hairline)
		p.canvas.Stroke(rectangle(p.frame.Min.X, p.frame.Max.Y, p.frame.Max.X, top))
	}
}

func (p pen) grid() {
	p.canvas.SetLineWidth(hairline)
	p.canvas.SetLineDash(nil, 0)
	p.canvas.SetColor(Grid)
	for _, t := range upright(p.y, p.frame.Size().Y) {
		if t.Label != "" {
			p.stroke(vg.Point{X: p.frame.Min.X, Y: p.atY(t.Value)}, vg.Point{X: p.frame.Max.X, Y: p.atY(t.Value)})
		}
	}
}

// line draws one curve, cut at the frame.
func (p pen) line(l Line) {
	columns := int(p.frame.Size().X / columnWidth)
	if len(l.Shade) == len(l.Y) && len(l.Y) > 0 {
		p.ribbon(l, columns)
	}
	p.canvas.SetColor(l.Style.Color)
	p.canvas.SetLineWidth(l.Style.Width)
	p.canvas.SetLineDash(l.Style.Dash, 0)
	x, y := Decimate(l.X, l.Y, p.time.Low, p.time.High, columns)
	clip := draw.Canvas{Canvas: p.canvas, Rectangle: p.frame}
	for _, run := range p.runs(x, y) {
		for _, piece := range clip.ClipLinesXY(run) {
			p.stroke(piece...)
		}
	}
	p.canvas.SetLineDash(nil, 0)
}

// runs returns the points of a curve on the canvas, parted at each NaN.
func (p pen) runs(x, y []float64) (runs [][]vg.Point) {
	var run []vg.Point
	for i := range x {
		if math.IsNaN(y[i]) || math.IsInf(y[i], 0) {
			if len(run) > 1 {
				runs = append(runs, run)
			}
			run = nil
			continue
		}
		run = append(run, vg.Point{X: p.atX(x[i]), Y: p.atY(y[i])})
	}
	if len(run) > 1 {
		runs = append(runs, run)
	}
	return runs
}

// ribbon fills between y − shade and y + shade, at most one step a column.
func (p pen) ribbon(l Line, columns int) {
	step := max(1, len(l.X)/columns)
	var upper, lower []vg.Point
	for i := 0; i < len(l.X); i += step {
		half := l.Shade[i]
		if !(l.X[i] >= p.time.Low && l.X[i] <= p.time.High) || math.IsNaN(l.Y[i]-half) {
			continue
		}
		x := p.atX(l.X[i])
		upper = append(upper, vg.Point{X: x, Y: p.inside(p.atY(l.Y[i] + half))})
		lower = append(lower, vg.Point{X: x, Y: p.inside(p.atY(l.Y[i] - half))})
	}
	if len(upper) < 2 {
		return
	}
	var path vg.Path
	path.Move(upper[0])
	for _, pt := range upper[1:] {
		path.Line(pt)
	}
	for i := len(lower) - 1; i >= 0; i-- {
		path.Line(lower[i])
	}
	path.Close()
	p.canvas.SetColor(Ribbon)
	p.canvas.Fill(path)
}

func (p pen) inside(y vg.Length) vg.Length {
	return min(max(y, p.frame.Min.Y), p.frame.Max.Y)
}

// axes draws frame, marks, labels and titles.
func (p pen) axes(withTime bool) {
	face := lettering.Regular(labelSize)
	p.canvas.SetLineWidth(hairline)
	p.canvas.SetColor(Soft)
	p.canvas.Stroke(rectangle(p.frame.Min.X, p.frame.Min.Y, p.frame.Max.X, p.frame.Max.Y))
	for _, t := range upright(p.y, p.frame.Size().Y) {
		y := p.atY(t.Value)
		p.stroke(vg.Point{X: p.frame.Min.X, Y: y}, vg.Point{X: p.frame.Min.X + markLength(t), Y: y})
		x := p.frame.Min.X - labelGap - lettering.Width(face, t.Label)
		p.text(face, Soft, x, y-labelSize*lettering.CapHeight/2, t.Label)
	}
	p.text(face, Ink, p.frame.Min.X, p.frame.Max.Y+p.strip+3, p.y.Title())
	p.timeAxis(face, withTime)
}

func (p pen) timeAxis(face font.Face, labelled bool) {
	below := p.frame.Min.Y - labelSize*lettering.Ascent - 1.5
	free := p.frame.Min.X - 2*labelGap // right end of the last label
	ticks := Ticks(p.time.Low, p.time.High, max(3, int(p.frame.Size().X/45)))
	if p.time.Unit == "" {
		ticks = Whole(ticks)
	}
	for _, t := range ticks {
		x := p.atX(t.Value)
		p.stroke(vg.Point{X: x, Y: p.frame.Min.Y}, vg.Point{X: x, Y: p.frame.Min.Y + markLength(t)})
		w := lettering.Width(face, t.Label)
		if !labelled || t.Label == "" || x-w/2 < free+labelGap || x+w/2 > p.frame.Max.X {
			continue
		}
		p.text(face, Soft, x-w/2, below, t.Label)
		free = x + w/2
	}
	if labelled {
		title := p.time.Title()
		p.text(face, Ink, p.frame.Max.X-lettering.Width(face, title), below-labelSize-1.5, title)
	}
}

func markLength(t Tick) vg.Length {
	if t.Label == "" {
		return tickLength / 2
	}
	return tickLength
}

func (p pen) text(f font.Face, ink color.Color, x, y vg.Length, s string) {
	if s != "" {
		p.canvas.SetColor(ink)
		p.canvas.FillString(f, vg.Point{X: x, Y: y}, s)
		p.canvas.SetColor(Soft)
	}
}

func (p pen) stroke(points ...vg.Point) {
	var path vg.Path
	for i, pt := range points {
		if i == 0 {
			path.Move(pt)
		} else {
			path.Line(pt)
		}
	}
	p.canvas.Stroke(path)
}

func rectangle(left, bottom, right, top vg.Length) vg.Path {
	return vg.Rectangle{Min: vg.Point{X: left, Y: bottom}, Max: vg.Point{X: right, Y: top}}.Path()
}
