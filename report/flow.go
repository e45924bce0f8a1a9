package report

import "gonum.org/v1/plot/vg"

// piece is a part of a page that is never broken.
type piece struct {
	height vg.Length
	// draw draws it; at is its upper left corner.
	draw func(p *Page, at vg.Point)
}

// space is an empty piece.
func space(height vg.Length) piece { return piece{height: height, draw: func(*Page, vg.Point) {}} }

// block is a run of pieces under a head; where the block goes on on the next
// page, the head is drawn again.
type block struct {
	head, body []piece
}

func heightOf(pieces []piece) (h vg.Length) {
	for _, p := range pieces {
		h += p.height
	}
	return h
}

func (b block) height() vg.Length { return heightOf(b.head) + heightOf(b.body) }

// fitting returns how many pieces of the body fit below the head.
func (b block) fitting(free vg.Length) int {
	free -= heightOf(b.head)
	for i, p := range b.body {
		if free -= p.height; free < -1e-6 {
			return i
		}
	}
	return len(b.body)
}

// draw draws the head and the first n pieces of the body.
func (b block) draw(p *Page, at vg.Point, n int) {
	for _, part := range [][]piece{b.head, b.body[:n]} {
		for _, piece := range part {
			piece.draw(p, at)
			at.Y -= piece.height
		}
	}
}

// band is blocks side by side, each at its distance from the left margin.
type band struct {
	blocks []block
	lefts  []vg.Length
	// above is the white space that parts it from what stands over it.
	above vg.Length
	// signed marks the band that has the room for the signature.
	signed bool
}

func single(b block, above vg.Length) band {
	return band{blocks: []block{b}, lefts: []vg.Length{0}, above: above}
}

func (b band) height() (h vg.Length) {
	for _, block := range b.blocks {
		h = max(h, block.height())
	}
	return h
}

// flow puts bands onto pages, one below the other.
type flow struct {
	sheet sheet
	pages []*Page
	y     vg.Length // where the next band begins
	fresh bool      // nothing stands on the page but its head
	// begin starts a page and returns where its content begins.
	begin func(p *Page, number int) vg.Length
}

// newFlow begins the first page. Its head counts as content: the first band
// keeps its distance from it.
func newFlow(s sheet, begin func(p *Page, number int) vg.Length) *flow {
	f := &flow{sheet: s, begin: begin}
	f.next()
	f.fresh = false
	return f
}

func (f *flow) next() {
	p := &Page{paper: f.sheet.paper}
	f.pages = append(f.pages, p)
	f.y = f.begin(p, len(f.pages))
	f.fresh = true
}

// wholeBelow is the share of a page's height up to which a band is rather moved
// to the next page than broken.
const wholeBelow = 0.25

// add places one band, on as many pages as it takes.
func (f *flow) add(b band) {
	if b.height() == 0 {
		return
	}
	for {
		if !f.fresh {
			f.y -= b.above
		}
		free := f.y - marginBottom
		if h := b.height(); !f.fresh && h > free && h <= wholeBelow*f.sheet.paper.Height {
			f.next()
			continue
		}
		rest, drawn := f.place(b, free)
		f.y -= drawn
		if drawn > 0 {
			f.fresh = false
		}
		if len(rest.blocks) == 0 {
			return
		}
		b = rest
		f.next()
	}
}

// place draws what fits and returns what is left. A fresh page takes at least
// one piece of each block, so that the flow always comes to its end.
func (f *flow) place(b band, free vg.Length) (rest band, drawn vg.Length) {
	rest.above = b.above
	for i, block := range b.blocks {
		n := block.fitting(free)
		if f.fresh {
			n = max(n, min(1, len(block.body)))
		}
		if n > 0 {
			block.draw(f.pages[len(f.pages)-1], vg.Point{X: marginSide + b.lefts[i], Y: f.y}, n)
			drawn = max(drawn, heightOf(block.head)+heightOf(block.body[:n]))
		}
		if n < len(block.body) {
			block.body = block.body[n:]
			rest.blocks = append(rest.blocks, block)
			rest.lefts = append(rest.lefts, b.lefts[i])
		}
	}
	return rest, drawn
}
