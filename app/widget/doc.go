// Package widget is the workbench's own widgets: strips, entries, the keypad, the
// route, pictures that can be zoomed.
//
// Each takes a small plain struct of what to show and hands back what was done
// through a func; none knows a job, a limit or a unit factor. Things whose height
// depends on their width say so through HeightFor, and the layouts here ask it:
// the toolkit's own MinSize cannot express words that wrap.
package widget
