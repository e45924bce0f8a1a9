package daqtest_test

import (
	"fmt"
	"strings"
)

// rows are the README's table of faults: a row a fault, a column a kind. Where
// a fault strikes at several rates, a cell has a figure for each.
type rows struct {
	order []string
	cells map[string]map[string][]outcome
}

func newRows() *rows { return &rows{cells: map[string]map[string][]outcome{}} }

func (r *rows) add(row string, s subject, out outcome) {
	if r.cells[row] == nil {
		r.order = append(r.order, row)
		r.cells[row] = map[string][]outcome{}
	}
	r.cells[row][s.name] = append(r.cells[row][s.name], out)
}

// String is the table in Markdown, each line marked so that it is found among
// what a test prints.
func (r *rows) String() string {
	var b strings.Builder
	line := func(cells ...string) { fmt.Fprintf(&b, "table: | %s |\n", strings.Join(cells, " | ")) }
	head, rule := []string{"fault"}, []string{"---"}
	for _, s := range subjects {
		head, rule = append(head, s.name), append(rule, "---")
	}
	line(head...)
	line(rule...)
	for _, row := range r.order {
		cells := []string{row}
		for _, s := range subjects {
			cells = append(cells, cell(r.cells[row][s.name]))
		}
		line(cells...)
	}
	return b.String()
}

// cell says how many readings were lost, how many values were wrong and how
// many gaps were recorded.
func cell(outs []outcome) string {
	if len(outs) == 0 {
		return "–"
	}
	figures := func(of func(outcome) int) string {
		var all []string
		for _, out := range outs {
			all = append(all, fmt.Sprint(of(out)))
		}
		return strings.Join(all, ", ")
	}
	wrong := figures(func(o outcome) int { return o.wrong })
	if strings.Trim(wrong, "0, ") == "" {
		wrong = "0"
	} else {
		wrong = "**" + wrong + "**"
	}
	gaps := figures(func(o outcome) int { return o.gaps }) + " gaps"
	if gaps == "1 gaps" {
		gaps = "1 gap"
	}
	return fmt.Sprintf("%s lost; %s wrong; %s", figures(outcome.lost), wrong, gaps)
}
