// Package workbook writes a job as a spreadsheet that thinks for itself, and
// reads it back without trusting it.
//
// # What goes out
//
// Write lays out one .xlsx file: the one page to sign, with what stands against
// the job and the signature block, whatever the job; what it had no room for;
// findings with their strips, the wiring plan and the new ladder. These are
// printed. Readings, each step, the check-out, the old ladder, logged series, the
// label and a page about the file itself are there for who wants to check. Every
// number that arithmetic alone can give is a live formula in terms of named
// cells: a reading is called by its field key (suction_temp), a finding by f_
// and its key (f_superheat). Saturation temperatures are live too, through a
// table on the hidden sheet Saturation, whose error bound is measured and
// printed when the file is made. What is neither (an uncertainty, an
// efficiency from the equation of state, a target looked up in a chart) is a
// plain number and is marked so on the sheet About. Each formula carries the
// value the program found, for viewers that do not calculate.
//
// # What comes back
//
// The hidden sheet Seal holds the canonical record and a list of every cell as
// it left, and the file states the SHA-256 of both, on the sheet and in its
// document properties. Read compares and tells apart: as exported; signed, with
// nothing else touched; altered, with each cell's old and new value; not from this
// program or not whole. Verify writes the workbook again from its record besides.
// The digest guards against slips and casual edits. Only the optional Ed25519
// signature guards against somebody who forges the digest as well; it covers which
// export of the job it is and the digest of the one before (Ledger). The name in
// the signature block is a statement, not a cryptographic one; its decision carries
// a code of the record, so that a block copied from another job is told. Countersign
// puts a supervisor's own key over the tablet's signature.
//
// Text that a spreadsheet program might take for a formula is written with a
// leading apostrophe (see Guard), and reading takes it off again. Numbers alone
// need none.
package workbook
