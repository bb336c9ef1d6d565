// Package record holds a job as people entered it: who, what unit, which
// instruments, and every reading with its unit, time, instrument and person.
//
// A Job is a list of entries that only grows. The value of a field is its
// newest entry; older ones are the history, and an empty value is a field
// cleared. What cannot be accepted (text in a number field, a number out of
// range, a unit that does not fit) is kept beside the entries as a Draft with
// its reason, so that nothing typed is lost and nothing unreadable is ever
// taken for a reading.
//
// Fields is the one table that declares each quantity: panes, workbook and
// checks are driven by it. The package computes nothing about refrigerants or
// circuits; it only converts units far enough to check an entry's range.
package record
