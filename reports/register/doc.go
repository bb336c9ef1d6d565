// Package register turns folders of workbooks into one table for the clerk who
// files them, in the order of what to chase: to return, altered, not read, to ask
// about, to sign, incomplete, not to be filed, duplicate, superseded, complete.
//
// Run walks a folder, reads the workbooks side by side and keeps one small row
// of each, so that memory does not grow with the size of the files. A file
// that cannot be read becomes a row with its reason; it never stops the run. What is
// no workbook is counted with what to do about it. A run that was cancelled goes on
// where it stopped, through a journal of the rows already read.
//
// Files of one job are told in one row (fold): copies of one record, and exports that
// a later one corrects. What the later export rests on is said: the tablet's count
// under its key, or the files' own times, for which nobody vouches. Nothing is folded
// that contradicts the row: accept and return of one record, another record by another
// key, or one count given twice.
//
// The table is CSV after RFC 4180 (WriteCSV), a row a file, or a workbook (WriteXLSX):
// the sheet that a clerk works down and prints, summaries with charts, altered cells,
// every file of the folder, and all columns. Without a Policy nothing is said to be
// filed.
package register
