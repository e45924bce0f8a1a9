package figure

import (
	"image/color"

	"gonum.org/v1/plot/vg"
)

// The inks of pages and figures. Their lightness differs, so that they stay
// apart in grey and for colour-blind readers.
var (
	Ink       = color.NRGBA{R: 0x16, G: 0x1b, B: 0x20, A: 255} // text, heavy lines
	Soft      = color.NRGBA{R: 0x59, G: 0x62, B: 0x6b, A: 255} // labels
	Hair      = color.NRGBA{R: 0x8c, G: 0x95, B: 0x9d, A: 255} // hairlines
	Grid      = color.NRGBA{R: 0xe2, G: 0xe6, B: 0xe9, A: 255}
	Black     = color.NRGBA{A: 255} // what machines read
	Paper     = color.NRGBA{R: 0xff, G: 0xff, B: 0xff, A: 255}
	HoldTint  = color.NRGBA{R: 0xe9, G: 0xf1, B: 0xf6, A: 255}
	PhaseTint = color.NRGBA{R: 0xf5, G: 0xf5, B: 0xf3, A: 255}
	Ribbon    = color.NRGBA{R: 0xe8, G: 0xdf, B: 0xd2, A: 255}
)

// The styles of the curves of a hold.
var (
	Measured    = Style{Color: color.NRGBA{R: 0xa9, G: 0xb4, B: 0xbc, A: 255}, Width: 0.6}
	Compensated = Style{Color: color.NRGBA{R: 0x3b, G: 0x7f, B: 0xae, A: 255}, Width: 0.9, Dash: []vg.Length{1.8, 1.0}}
	Fitted      = Style{Color: Ink, Width: 1.3}
	LimitLine   = Style{Color: color.NRGBA{R: 0xa4, G: 0x3b, B: 0x1c, A: 255}, Width: 1.1, Dash: []vg.Length{5, 2.5}}
	Feed        = Style{Color: color.NRGBA{R: 0x59, G: 0x62, B: 0x6b, A: 255}, Width: 0.7, Dash: []vg.Length{3.5, 1.2, 0.8, 1.2}}
	Probe       = Style{Color: color.NRGBA{R: 0xc4, G: 0xa8, B: 0x7c, A: 255}, Width: 0.5}
	Residual    = Style{Color: color.NRGBA{R: 0xb9, G: 0xc6, B: 0xd0, A: 255}, Width: 0.5}

	ResidualMean = Style{Color: color.NRGBA{R: 0x1f, G: 0x4e, B: 0x73, A: 255}, Width: 1.2}
	Zero         = Style{Color: Soft, Width: 0.5, Dash: []vg.Length{2, 2}}

	// The shares of verdicts over a true loss.
	PassShare         = Style{Color: color.NRGBA{R: 0x1f, G: 0x4e, B: 0x73, A: 255}, Width: 1.4}
	InconclusiveShare = Style{Color: color.NRGBA{R: 0x8c, G: 0x95, B: 0x9d, A: 255}, Width: 1.4, Dash: []vg.Length{1.2, 1.6}}
	FailShare         = Style{Color: Ink, Width: 1.4, Dash: []vg.Length{6, 2, 1.2, 2}}

	Liquid = Style{Color: color.NRGBA{R: 0x6d, G: 0x41, B: 0x10, A: 255}, Width: 1.1}
)
