package report

// pageKind is one kind of page in a unit's set.
type pageKind struct {
	name string
	// compose returns the pages, none where there is nothing to show.
	compose func(*composer) []*Page
}

// pageKinds is the one table of a unit's pages, in their order.
var pageKinds = []pageKind{
	{"summary", (*composer).summaryPages},
	{"challenge", (*composer).challengePages},
	{"plots", (*composer).plotPages},
	{"budget", (*composer).budgetPages},
	{"instruments", (*composer).instrumentPages},
	{"files", (*composer).filePages},
}
