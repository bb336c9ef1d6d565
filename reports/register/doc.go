// Package register turns folders of workbooks into one table for the clerk who
// files them: one row per file, what is missing for the warranty in words, who
// signed, what was altered after the export, what was sent twice, what is
// overdue.
//
// Run walks a folder, reads the workbooks side by side and keeps one small row
// of each, so that memory does not grow with the size of the files. A file
// that cannot be read becomes a row with its reason; it never stops the run. A
// run that was cancelled goes on where it stopped, through a journal of the
// rows already read.
//
// The table is a gota frame (Frame), CSV after RFC 4180 (WriteCSV), or a
// workbook with summaries and charts (WriteXLSX).
package register
