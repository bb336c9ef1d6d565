// Package section is what the panes of the workbench are made of. A pane is a
// list of sections, given as data in panes.go; a section is one idea in one file:
// the fields of a step, its findings, the pressure-enthalpy diagram, the wiring
// plan.
//
// Each section has a Key, the part of the job it depends on; a Compute, a pure
// function of one revision of the job that runs beside the toolkit's thread and
// is cancelled when a newer revision makes it stale; and a Fill, which puts what
// was computed on the page, on that thread, and is cheap. What is judged or
// computed from readings comes from the one assessment of the revision, which all
// sections share. No formula, limit or unit factor stands here.
package section
