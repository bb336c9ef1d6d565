// Package sheetfile reads spreadsheet files (Office Open XML, ECMA-376) that
// somebody else had in hands, and trusts nothing in them.
//
// It reads only what comparing needs: the names of the sheets, their cells as
// values, and the document's custom properties. It never writes, never follows
// a link, never extracts a file, and computes no formula. Everything is
// bounded by Limits before it is believed: the file, the number of parts, what
// a part unpacks to, cells, texts. Document type declarations, unknown
// entities, macros, links to other files and embedded objects are refused with
// a reason.
//
// It exists beside a general spreadsheet library for two reasons: strictness,
// and speed when an office files ten thousand workbooks.
package sheetfile
