package section

import "retrostage/reports/record"

// maker makes a section for a pane.
type maker func(p *Pane) *Section

// layout is a pane as a list of sections.
type layout struct {
	side     []maker
	middle   []maker
	pictures bool // the middle has more to show than findings: it is always there
	wide     bool // few entries: the middle has the room
}

// layouts are the panes that have more than their fields and their findings.
var layouts = map[record.Step]layout{
	record.Intake:  {side: []maker{taken, fields, about, fluidCautions, photos, instruments, visits}, middle: []maker{summary, findings}},
	record.Choice:  {side: []maker{taken, fields, about, consentKey, photos}, middle: []maker{summary, options, findings}, pictures: true},
	record.Match:   {side: []maker{taken, fields, about, orderKey, photos}, middle: []maker{summary, matches, findings}, pictures: true},
	record.Cause:   {side: []maker{taken, fields, about, photos}, middle: []maker{summary, failureCall, findings, failure}, pictures: true}, // its findings come with the first reading, and move no field
	record.CloseUp: {side: []maker{again, taken, clocks, fields, about, photos, importVacuum}, middle: []maker{summary, workList, pullDown, vacuumRise, findings}, pictures: true},
	record.Charge:  {side: []maker{again, taken, clocks, fields, about, photos, trimKeep, labelKey}, middle: []maker{summary, buildUp, trimTable, findings, workList}, pictures: true},
	record.Wiring: {side: []maker{taken, checkoutAnswer, fields, about, photos}, middle: []maker{summary, wiringPlan, findings},
		pictures: true, wide: true},
	record.Electrical: {side: []maker{taken, fields, about, photos}, middle: []maker{summary, findings, leadCurrents, oldAgainstNew}, pictures: true},
	record.Running: {side: []maker{again, taken, fields, about, photos, importKey},
		middle: []maker{summary, phDiagram, setsOf, findings, baseline, compressorMap, causes, logs}, pictures: true},
	record.HandOver: {side: []maker{export, taken, fields, photos, ownerKey}, middle: []maker{against, summary, allFindings}, pictures: true},
}

func layoutOf(s record.Step) layout {
	if l, ok := layouts[s]; ok {
		return l
	}
	return layout{side: []maker{taken, fields, about, photos}, middle: []maker{summary, findings}}
}
