// Package discovery finds out what hangs on a line and how it behaves, without
// changing it: text that comes unasked, Modbus slaves by questions that only
// read, which of their registers moves, how an exchange's time is shared by
// line, module and adapter. It writes the bench file that follows from it.
//
// It sends only where its functions say so, and then only requests of the
// functions 3 and 4, and asks no more often than it is told to.
//
// Times of exchanges are time.Duration since any one instant; lengths are
// bytes.
//
// Sources:
//
//	[1] MODBUS over Serial Line, Specification and Implementation Guide
//	    V1.02 (2006): usual framings, silent interval.
//	[2] MODBUS Application Protocol Specification V1.1b3 (2012): what a slave
//	    answers to a function or a register that it does not have.
package discovery
