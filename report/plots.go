package report

import (
	"math"

	"gonum.org/v1/plot/vg"

	"holdbench/analysis/si"
	"holdbench/report/figure"
)

// The panels of the large figures, as shares of their height, and how much of
// a page's free height the hold has where the whole test stands under it.
const (
	largePressure    = 2.4
	largeFeed        = 0.7
	largeTemperature = 1
	largeResiduals   = 0.9
	holdShare        = 0.64
)

// residualMeans is how many means show what the noise of the residuals hides.
const residualMeans = 40

// plotPages show each circuit's hold and whole test as large as the paper is.
func (c *composer) plotPages() (pages []*Page) {
	for _, h := range c.holds() {
		flow := newFlow(c.sheet, c.titled("Plots"+c.ofCircuit(h.circuit)))
		flow.add(single(c.holdFound(), 1*mm))
		looks := c.lookTable(h.circuit)
		for _, b := range looks {
			flow.add(b)
		}
		above := vg.Length(0)
		if len(c.f.holdsFound()) > 0 || len(looks) > 0 {
			above = 2 * mm
		}
		flow.add(single(h.large(flow.y-above-marginBottom), above))
		pages = append(pages, flow.pages...)
	}
	return pages
}

// large is the hold, and under it the whole test, in the given height.
func (h hold) large(height vg.Length) block {
	figures := []figure.Figure{h.inFull()}
	titles := []string{"The hold"}
	shares := []vg.Length{1}
	if h.allTrapped.isLine() {
		figures = append(figures, h.whole(""))
		titles = append(titles, "The whole test")
		shares = []vg.Length{holdShare, 1 - holdShare}
	}
	var b block
	for i, f := range figures {
		b.body = append(b.body, h.c.largeFigure(titles[i], f, shares[i]*height))
	}
	return b
}

// largeFigure is a figure under its title and legend, all in that height with
// some room below.
func (c *composer) largeFigure(title string, f figure.Figure, height vg.Length) piece {
	p := c.figurePiece(title, f, height-3*mm)
	p.height = height
	return p
}

// inFull is the hold with everything that was measured, and what is left over
// after the fit.
func (h hold) inFull() figure.Figure {
	f := h.figure()
	from, to := h.window()
	_, seconds := figure.TimeUnit(to - from)
	panels := f.Panels[:1:1]
	panels[0].Share = largePressure
	if p, ok := h.feedPanel(seconds); ok {
		panels = append(panels, p)
	}
	for _, p := range f.Panels[1:] {
		p.Share = largeTemperature
		panels = append(panels, p)
	}
	if p, ok := h.residualPanel(seconds); ok {
		panels = append(panels, p)
	}
	f.Panels = panels
	return f
}

func (h hold) feedPanel(seconds float64) (figure.Panel, bool) {
	if !h.feed.isLine() {
		return figure.Panel{}, false
	}
	unit := h.c.display.Unit(si.Pressure)
	line := h.feed.line("feed side", seconds, unit, figure.Feed)
	line.Style.Dash, line.Style.Width = nil, 0.5
	span := newSpan(line.Y)
	low, high := span.padded(0.12)
	return figure.Panel{
		Y:     figure.Axis{Quantity: "feed side", Unit: unit.Symbol, Low: low, High: high},
		Lines: []figure.Line{line}, Share: largeFeed,
	}, true
}

// residualPanel is compensated less fitted, with means of equal times, in
// which a bend shows that the noise hides.
func (h hold) residualPanel(seconds float64) (figure.Panel, bool) {
	rest, means, ok := h.residuals()
	if !ok {
		return figure.Panel{}, false
	}
	unit := h.c.display.Unit(si.PressureChange)
	name := "residual: compensated less fitted"
	if h.raw {
		name = "residual: measured less fitted"
	}
	line := rest.line(name, seconds, unit, figure.Residual)
	span := newSpan(line.Y)
	span.take(0)
	low, high := span.padded(0.08)
	first, last := rest.t[0], rest.t[len(rest.t)-1]
	each := math.Round((last-first)/float64(len(means.t))*10) / 10
	return figure.Panel{
		Y: figure.Axis{Quantity: "residual", Unit: unit.Symbol, Low: low, High: high},
		Lines: []figure.Line{
			line,
			{X: []float64{first / seconds, last / seconds}, Y: []float64{0, 0}, Style: figure.Zero},
			means.line("residual, mean of each "+duration(each), seconds, unit, figure.ResidualMean),
		},
		Share: largeResiduals,
	}, true
}

// residuals are compensated less fitted, and its means.
func (h hold) residuals() (rest, means curve, ok bool) {
	a, _ := h.c.f.assessment(h.circuit)
	t, n := a.Curves.Time, len(a.Curves.Time)
	if n < 2 || len(a.Curves.Compensated) != n || len(a.Curves.Fitted) != n {
		return curve{}, curve{}, false
	}
	y := make([]float64, n)
	for i := range y {
		y[i] = a.Curves.Compensated[i] - a.Curves.Fitted[i]
	}
	means.t, means.y = blockMeans(t, y, residualMeans)
	return thin(t, y), means, true
}

// blockMeans parts a line into so many equal times and returns the middle and
// the mean of each; where nothing was read the mean is NaN. t rises and
// len(t) == len(y) ≥ 2; there are never more parts than a tenth of the
// readings, and at least one.
func blockMeans(t, y []float64, parts int) (at, means []float64) {
	parts = max(1, min(parts, len(t)/10))
	start, length := t[0], (t[len(t)-1]-t[0])/float64(parts)
	sums, counts := make([]float64, parts), make([]float64, parts)
	for i, v := range y {
		if k := int((t[i] - start) / length); !math.IsNaN(v) {
			k = min(max(k, 0), parts-1)
			sums[k] += v
			counts[k]++
		}
	}
	for k := range parts {
		at = append(at, start+(float64(k)+0.5)*length)
		means = append(means, sums[k]/counts[k])
	}
	return at, means
}
