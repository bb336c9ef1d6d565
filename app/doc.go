// Package app is the workbench: one window in which a job is typed in, judged
// and handed over. It is the only package that knows the toolkit.
//
// A Bench holds the job at hand. A committed entry goes to the record, the
// record to the archive (beside the finger, the newest winning), a copy of it to
// assess, and what comes back is painted: strips, states of the route, pictures.
// While a number is being typed a copy with that number is assessed, so that the
// strip moves with the keys; only leaving the entry enters it.
//
// Panes are made from record.Fields, so a new field needs nothing here. No
// formula, limit or unit factor stands in this package.
package app
