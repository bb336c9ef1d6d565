// Package owner writes the page that stays with the owner: one sheet in plain
// words about what was done, what it means, and what to look after.
//
// What the technician wrote is printed as written. Nothing on the page judges
// the unit beyond what the findings say, and no number stands on it that the
// record does not hold.
package owner

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"strings"

	"retrostage/reports/assess"
	"retrostage/reports/leaflet"
	"retrostage/reports/record"
	"retrostage/reports/version"
)

// Write writes the page as PDF. paper is "Letter" or "A4"; call is whom to call, "" takes
// what the job says. Text too long for one page in type that can be read is an error.
func Write(w io.Writer, j *record.Job, rep *assess.Report, paper, call string) error {
	l := leaflet.Leaflet{Job: j, Name: "For the owner: " + j.Text(record.OwnerRef), Heading: "Your air conditioner: what was done",
		About: []record.Key{record.OwnerRef, record.VisitDate, record.OldUnitModel}, Parts: words(j, rep, call),
		Foot: "Local codes and the equipment's own instructions decide. This page is no guarantee.", By: version.String()}
	err := l.Write(w, paper)
	if errors.Is(err, leaflet.ErrTooLong) {
		err = fmt.Errorf("%w; shorten what was done, the root cause, the advice or the reservations", err)
	}
	if err != nil {
		return fmt.Errorf("owner's page of job %s: %w", j.ID, err)
	}
	return nil
}

// words puts the job into plain language. call is whom to call, as the office gives it.
func words(j *record.Job, rep *assess.Report, call string) []leaflet.Part {
	var ps []leaflet.Part
	add := func(title string, lines ...string) {
		var keep []string
		for _, l := range lines {
			if l = strings.TrimSpace(l); l != "" {
				keep = append(keep, l)
			}
		}
		if keep != nil {
			ps = append(ps, leaflet.Part{Title: title, Lines: keep})
		}
	}
	if call = Whom(j, call, ""); call == "" {
		call = "................................................................ (to be written in by the technician)"
	}
	add("Whom to call", call)
	add("What was done", j.Text(record.WorkDone))
	if d := decided[j.Text(record.Decision)]; d != "" && j.Text(record.WorkDone) == "" {
		add("What was decided", d, j.Text(record.DecisionReason))
		add("Why the old compressor failed", j.Text(record.RootCause))
		add("What you have to arrange", "Ask the technician what comes next, and when.")
		add("Until then", "Leave the outdoor unit switched off at its disconnect or its breaker, and leave both alone.")
		addDoNot(add)
		return ps
	}
	converted := j.Text(record.Decision) == "convert to single stage"
	if converted {
		add("What it means",
			"Your outdoor unit used to run at two speeds of cooling. It now has one: it is either on or off, and when it is on it cools with its full strength.",
			"You may notice that it starts and stops more often on mild days and that the air from the vents is cooler while it runs. Ask whether the thermostat was set to one stage of cooling.",
			label(j))
	}
	if cause := j.Text(record.RootCause); cause != "" {
		add("Why the old compressor failed", cause,
			"As long as this cause is there, the new compressor can fail in the same way. Ask the technician which part of it was put right on this visit and what is left for you to have done.")
	}
	add("What you have to arrange", todo(rep, j)...)
	add("What was checked", checks(rep)...)
	// First week: common practice, no source.
	add("In the first week",
		"Listen when it starts: it should start at once and run evenly. Note the day and the hour if it does not.",
		"Feel that the house gets cool in the usual time, and look once a day for ice on the pipes, for oil below the outdoor unit and for water where there was none.",
		"Leave the thermostat alone for five minutes after you have switched it off.")
	add("What to look after", care(j.Text(record.OwnerAdvice))...)
	if converted {
		// Common practice, no source: what a rating, a warranty or a policy says is read there.
		add("What no longer holds as before",
			"The unit was tested, rated and certified with its old compressor. Its published efficiency and that certificate no longer describe it.",
			"The maker's warranty of the unit may have ended, and a rebate, a tax credit, a home warranty or your insurance may ask about the change. Read what you have, or ask, before you rely on it.",
			given("Warranty on the new compressor", j.Text(record.PartWarranty))+given("Warranty on the work", j.Text(record.LabourWarranty)))
	}
	add("Call at once, and leave it switched off, when",
		"it trips its breaker, even once: do not reset it again; it hums without starting; ice or oil shows on the pipes; it smells burnt; or it runs without a break and the house does not get cooler.")
	addDoNot(add)
	return ps
}

// decided is what stands in the place of a repair, until it is done.
var decided = map[string]string{
	"replace the unit":         "The outdoor unit is to be replaced. It was not repaired and does not cool until then.",
	"replace the whole system": "The whole system, outdoors and indoors, is to be replaced. It was not repaired and does not cool until then.",
	"leave it":                 "The unit is left as it is. It was not repaired and does not cool.",
}

func addDoNot(add func(string, ...string)) {
	add("Please do not",
		"open the unit or its disconnect. Inside is mains voltage, also for a while after it is switched off, and refrigerant under pressure.")
}

// label is said only of a label that is there.
func label(j *record.Job) string {
	if j.Text(record.LabelDone) == record.Yes {
		return "A new label beside the old plate says what is in the unit now. Please leave both in place: whoever services it next needs them."
	}
	return "A new label beside the old plate is to say what is in the unit now. Whether it is there was not entered here: look for it, and ask for it if there is none. Whoever services it next needs it, and the old plate too."
}

func given(what, s string) string {
	if s == "" {
		return ""
	}
	return what + ": " + s + ". "
}

// care is what an owner looks after: what was written for this one, and what goes for
// all, each thing once. Filter, clearance and washing: common practice, no source.
func care(advice string) []string {
	lines := []string{advice}
	said := strings.ToLower(advice)
	for _, l := range []struct{ word, line string }{
		{"filter", "Change or clean the indoor air filter as its maker says, at least at the start of each cooling season."},
		{"plants", "Keep plants, leaves and boxes two feet (60 cm) away from the outdoor unit on all sides."},
		{"coil", "Have the outdoor coil washed when you can see lint or dirt between its fins, and before each summer; the power has to be locked off for that."},
	} {
		if !strings.Contains(said, l.word) {
			lines = append(lines, l.line)
		}
	}
	return lines
}

func checks(rep *assess.Report) []string {
	n := rep.Count()
	judged := n[assess.Within] + n[assess.Outside] + n[assess.TooClose]
	if judged == 0 {
		return nil
	}
	s := fmt.Sprintf("Of %d checks made on the day, %s within their limits", judged, were(n[assess.Within]))
	switch {
	case n[assess.Outside] > 0 && n[assess.TooClose] > 0:
		s += fmt.Sprintf(", %s outside and %s too close to their limits to tell", were(n[assess.Outside]), were(n[assess.TooClose]))
	case n[assess.Outside] > 0:
		s += fmt.Sprintf(" and %s outside", were(n[assess.Outside]))
	case n[assess.TooClose] > 0:
		s += fmt.Sprintf(" and %s too close to their limits to tell", were(n[assess.TooClose]))
	}
	return []string{s + "."}
}

// actions are what an owner has done about what was found, by the finding's key.
var actions = map[string]string{
	"breaker_fit":     "The breaker or fuse of the outdoor unit is not of the size that the new compressor needs. Have an electrician or the technician change it to the size on the new label.",
	"mca_wire":        "The wire to the outdoor unit may be too small for the new compressor. Have an electrician look at it before the next hot day.",
	"small_conductor": "The wire to the outdoor unit may be too small for its breaker. Have an electrician look at it before the next hot day.",
	"supply_voltage":  "The voltage at the outdoor unit was not what it should be. Have an electrician or your power company look into it; until then the compressor wears faster.",
	"start_voltage":   "The voltage drops far when the unit starts. Have an electrician look at its circuit.",
	"pressure_hold":   "The pressure test did not show that the pipes are tight. Have the technician look for a leak again.",
	"vacuum_hold":     "The test for moisture and leaks did not come out as it should. Have the technician test again.",
	"vacuum_word":     "The test for moisture and leaks did not come out as it should. Have the technician test again.",
	"label_error":     "The label does not say how much refrigerant is in the unit. Have the technician correct it.",
	"superheat":       "The amount of refrigerant may not be right. Have the technician check it again.",
	"superheat_error": "The amount of refrigerant may not be right. Have the technician check it again.",
	"subcooling":      "The amount of refrigerant may not be right. Have the technician check it again.",
	"airflow_per_ton": "The indoor fan may not move enough air. Have the technician look at filter, fan and ducts.",
	"run_current":     "The compressor draws more current than it should. Have the technician look at it again soon.",
}

// todo is what stands against the job, as things for its owner to have done: a sentence
// each, who left what as it is, and what the technician left open.
func todo(rep *assess.Report, j *record.Job) (lines []string) {
	var missing []string
	said := map[string]bool{}
	say := func(l string) {
		if !said[l] {
			said[l] = true
			lines = append(lines, l)
		}
	}
	for _, m := range rep.Against {
		if m.Stand == assess.IsMissing && m.Key != record.FollowUpDue.String() {
			missing = append(missing, m.Label)
			continue
		}
		stand := m.Stand
		if stand == assess.Reservation {
			stand = m.Was
		}
		if m.Key == record.FollowUpDue.String() {
			say("Fix a day with the technician for what is still to be done.")
		} else if stand == assess.IsMissing {
			missing = append(missing, m.Label)
		} else if a := actions[m.Key]; a != "" {
			say(a)
		} else {
			say(Plain(m.Label) + ": " + map[assess.Stand]string{assess.IsOutside: "not as it should be. Have the technician put it right.", assess.IsClose: "too close to tell. Have the technician check it again."}[stand])
		}
		if r := m.Reserved; r != nil {
			say("Your technician (" + r.By + ") left this as it is for now, and says why: " + r.Text)
		}
	}
	if open := j.Text(record.OpenConditions); open != "" {
		say(sentence(open) + " Make an appointment for it.")
	}
	if f := j.Text(record.FollowUp); f != "" && f != j.Text(record.OpenConditions) {
		say(sentence(f) + " " + given("Promised for", j.Text(record.FollowUpDue)))
	}
	const most = 4
	for i := range missing {
		missing[i] = Plain(missing[i])
	}
	switch n := len(missing); {
	case n > most:
		say(fmt.Sprintf("Some things were not checked: %s and %d more. Ask the technician when they will be.", strings.Join(missing[:most], "; "), n-most))
	case n > 0:
		say("Not checked: " + strings.Join(missing, "; ") + ". Ask the technician when that will be.")
	}
	return lines
}

func sentence(s string) string {
	if s = strings.TrimSpace(s); !strings.HasSuffix(s, ".") {
		s += "."
	}
	return s
}

// inFull are the field's abbreviations in words.
var inFull = strings.NewReplacer("Breaker or fuse, against MCA and MOCP", "Breaker or fuse: its size for the new compressor", "MCA", "minimum circuit current", "MOCP", "largest breaker",
	"RLA", "rated current", "SEER", "seasonal efficiency", "LRA", "starting current", "HERM to FAN", "compressor's to fan's section", "HERM", "compressor's section", "FAN", "fan's section", "AWG", "wire size", " VA", " volt-amperes",
	"WC", "water capacity", "C to S", "first to second terminal", "C to R", "first to third terminal", "S to R", "second to third terminal", "°C", "degrees Celsius", "°F", "degrees Fahrenheit")

// Plain is a label without the abbreviations of the field.
func Plain(label string) string { return inFull.Replace(label) }

func were(n int) string {
	if n == 1 {
		return "1 was"
	}
	return fmt.Sprintf("%d were", n)
}

// Whom is whom the owner calls: as given, else as the job says, else as the tablet's
// setting has it.
func Whom(j *record.Job, given, setting string) string {
	return cmp.Or(given, j.Text(record.OwnerCall), setting)
}
