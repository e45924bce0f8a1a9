// Package textline knows instruments that speak lines of text: those that
// send lines of their own accord (Stream), and those that answer when they
// are asked (Asked).
//
// A line is cut into fields: columns parted by a separator, characters at
// fixed places, fields with names, or what a pattern finds. What is not a
// whole line of numbers, or of an instrument's words for "no number", costs
// that line and nothing else: it is counted and never becomes a reading. The
// line that was under way when the port was opened is never used, because its
// beginning may be missing. Lines of words alone, as headers and banners are,
// are passed over.
//
// What cannot be seen: a digit changed into another one where the line
// carries no check sum, and a digit lost from a number that has neither a
// fixed length nor a fixed number of decimals, unless the value jumps by it
// (see memory). Who needs more states Length, Decimals or a check sum; limits
// of range and rate catch the rest.
//
// Sources:
//
//	[1] IEEE Std 488.2-1992: numeric responses NR1, NR2, NR3 (8.7.2 to 8.7.4),
//	    definite length blocks (8.7.9), *IDN? (10.14). M, section numbers from
//	    memory.
//	[2] SCPI-1999 Volume 1, 7.2.1: 9.9E37 for infinity, −9.9E37, 9.91E37 for
//	    not a number. V as far as the values go, section number M.
//	[3] Greg Cook, Catalogue of parametrised CRC algorithms, 16 bits: names,
//	    parameters and check values; read in a public copy of the catalogue.
package textline
