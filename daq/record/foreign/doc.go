// Package foreign knows other loggers' CSV files: what their columns mean, in
// which units and with which marks their figures are written, and how their
// clocks misbehave. A file goes in, a series in SI comes out, with notes that
// say in plain words what was found and what was assumed. It judges nothing.
//
// # How a file is read
//
// The head of the file (256 KiB) settles its layout: encoding, delimiter,
// decimal mark, the line of the header, the columns and their units. What
// Settings says goes before what the file says, and what cannot be told from
// either is an error that names the setting: nothing is guessed. Then the whole
// file is read once, in pieces, straight into the columns of the series. (A
// file whose dates turn out to be month first after all is read again.)
//
// Conventions: times are seconds since the file's first instant, exact to the
// nanosecond; pressure is gauge, in Pa; temperature in K; a cell without a
// reading is NaN. Line and column numbers count from 1.
//
// # What is not read
//
// Delimiters other than comma, semicolon and tab; line breaks in quoted cells
// below the header; figures with thousands marks; spreadsheet serial dates.
//
// Sources:
//
//	[1] RFC 4180 (2005), Common Format and MIME Type for CSV Files.
//	[2] ISO 8601-1:2019, Date and time: representations (mark M).
//	[3] W. D. Clinger, How to Read Floating Point Numbers Accurately, PLDI
//	    1990 (mark M): a decimal of at most 53 bits times or over a power of ten
//	    up to 1e22 takes one rounding.
//	[4] SCPI-1999, volume 1: 9.9E37 stands for infinity, 9.91E37 for "not a
//	    number" (mark M).
package foreign
