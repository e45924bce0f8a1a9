package main

import "strings"

// strokes are the letters of the three verdicts, five rows of five, so that a
// terminal shows the verdict to somebody three metres away.
var strokes = map[rune][5]string{
	'A': {" ### ", "#   #", "#####", "#   #", "#   #"},
	'C': {" ####", "#    ", "#    ", "#    ", " ####"},
	'E': {"#####", "#    ", "#### ", "#    ", "#####"},
	'F': {"#####", "#    ", "#### ", "#    ", "#    "},
	'I': {"#####", "  #  ", "  #  ", "  #  ", "#####"},
	'L': {"#    ", "#    ", "#    ", "#    ", "#####"},
	'N': {"#   #", "##  #", "# # #", "#  ##", "#   #"},
	'O': {" ### ", "#   #", "#   #", "#   #", " ### "},
	'P': {"#### ", "#   #", "#### ", "#    ", "#    "},
	'S': {" ####", "#    ", " ### ", "    #", "#### "},
	'U': {"#   #", "#   #", "#   #", "#   #", " ### "},
	'V': {"#   #", "#   #", "#   #", " # # ", "  #  "},
}

// large writes a word in large letters, a line for each row, or nothing for a
// word with other letters.
func large(word string) string {
	var rows [5]strings.Builder
	for _, letter := range word {
		shape, ok := strokes[letter]
		if !ok {
			return ""
		}
		for i := range rows {
			rows[i].WriteString(strings.ReplaceAll(shape[i], "#", "█") + " ")
		}
	}
	var all strings.Builder
	for i := range rows {
		all.WriteString(strings.TrimRight(rows[i].String(), " ") + "\n")
	}
	return all.String()
}
