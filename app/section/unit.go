package section

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/plan"
	"retrostage/reports/record"
	"retrostage/thermo/units"
	"retrostage/wiring/netlist"
)

// unitEditor is the old unit as found: the catalogue's, made to match the one in
// front of the technician. What is changed is kept with the job.
type unitEditor struct {
	w    *wiringView
	body *fyne.Container
}

// edit changes the unit of the job, or says why it cannot be so and changes
// nothing.
func (p *unitEditor) edit(change func(u *netlist.Unit) error) error {
	u, err := plan.Drawn(p.w.p.Job())
	if err != nil {
		return err
	}
	if err := change(u); err != nil {
		return err
	}
	p.set(u.JSON())
	return nil
}

// unitBefore is the old unit before a change, and the catalogue's name for it.
type unitBefore struct {
	raw  json.RawMessage
	name string
}

// set keeps a unit with the job, nil for the catalogue's; the one before can be
// had back.
func (p *unitEditor) set(raw []byte) {
	h := p.w.p
	s := h.Sitting()
	s.Units = append(s.Units, unitBefore{slices.Clone(h.Job().Unit), h.Job().Text(record.OldControls)})
	h.Change(func(j *record.Job) { j.Unit = raw })
}

// undo takes the last change of the unit back.
func (p *unitEditor) undo() {
	h := p.w.p
	s := h.Sitting()
	n := len(s.Units)
	if n == 0 {
		return
	}
	was := s.Units[n-1]
	s.Units = s.Units[:n-1]
	h.Change(func(j *record.Job) { j.Unit = was.raw })
	if was.name != h.Job().Text(record.OldControls) {
		h.Enter(record.OldControls, was.name, "", "")
	}
}

func (p *unitEditor) fill(body *fyne.Container) {
	p.body = body
	h := p.w.p
	small := func(t string) { body.Add(widget.NewWords(t, theme.Small+0.5, false, theme.Muted)) }
	u, err := plan.Drawn(h.Job())
	if err != nil {
		body.Add(widget.NewNotice("outside", theme.Bad, []string{Sentence(err.Error())}, nil))
		return
	}
	small("As in the catalogue until you make it match the unit in front of you: touch a device or a conductor to change it. Everything is planned and proved anew.")
	gone, err := plan.Departures(h.Job())
	switch {
	case err != nil:
		body.Add(widget.NewNotice("outside", theme.Bad, []string{Sentence(err.Error())}, nil))
	case len(gone) > 0:
		lines := []string{fmt.Sprintf("Differs from the catalogue's unit in %d things:", len(gone))}
		for i, g := range gone {
			if i == 6 {
				lines = append(lines, fmt.Sprintf("and %d more", len(gone)-i))
				break
			}
			lines = append(lines, Sentence(g))
		}
		body.Add(widget.NewNotice("close", theme.Warning, lines, nil))
	}
	if len(h.Sitting().Units) > 0 {
		body.Add(widget.NewTap("Undo the last change of the unit", func() { p.undo(); p.w.show() }))
	}
	if len(h.Job().Unit) > 0 {
		body.Add(widget.NewTap("Back to the catalogue's unit", func() { p.set(nil); p.w.show() }))
	}
	body.Add(widget.NewTap("Another unit of the catalogue", func() {
		p.w.choosing = true
		p.w.show()
	}))
	p.drafts(u)
	body.Add(widget.NewHeading(fmt.Sprintf("Devices: %d", len(u.Devices))))
	for _, d := range u.Devices {
		c := widget.NewCard(Sentence(d.Label), d.ID, Sentence(netlist.Kinds[d.Kind].Words)+", "+d.Place+". "+ends(u, d), theme.Accent)
		if c.Title == "" {
			c.Title = Sentence(netlist.Kinds[d.Kind].Words)
		}
		c.Do = func() { p.device(d.ID) }
		body.Add(c)
	}
	body.Add(widget.NewTap("Add a device", p.addDevice))
	body.Add(widget.NewHeading(fmt.Sprintf("Conductors: %d", len(u.Conductors))))
	for _, q := range u.Conductors {
		c := widget.NewCard(q.From+" to "+q.To, q.ID, fmt.Sprintf("%s, %d AWG, %s", Sentence(q.Colour), q.Gauge, classWords[q.Class]), theme.Accent)
		c.Do = func() { p.conductor(q.ID) }
		body.Add(c)
	}
	body.Add(widget.NewTap("Add a conductor", p.addConductor))
}

var classWords = map[netlist.Class]string{netlist.Line: "line voltage", netlist.Class2: "24 V, Class 2", netlist.Ground: "equipment ground"}

// ends says how much hangs on a device.
func ends(u *netlist.Unit, d netlist.Device) string {
	n := 0
	for _, t := range netlist.Kinds[d.Kind].Terminals {
		n += len(u.At(d.ID + "." + t.Name))
	}
	if n == 1 {
		return "1 conductor end."
	}
	return fmt.Sprintf("%d conductor ends.", n)
}

// form is a sheet of entries about one part of the unit, each handed over when
// it is left. What is refused, or waits for a part to be added, is kept with the
// job as a draft.
type form struct {
	p       *unitEditor
	about   string // the part's name, or addDevices, addConductors
	rows    []*widget.Row
	col     *fyne.Container
	scroll  *widget.Scroller
	wrong   *widget.Words
	refused map[*widget.Row]string // what was said to be wrong when leaving was tried
	was     unitBefore             // the unit as the sheet was opened
	shut    func()
}

// What a form about a part that is not there yet is about. No part can be called
// so: names have no spaces.
const (
	addDevices    = "new device"
	addConductors = "new conductor"
)

func (f *form) adding() bool { return f.about == addDevices || f.about == addConductors }

func (p *unitEditor) form(title, about string, fill func(f *form)) {
	p.w.p.Sheet(560, 640, func(shut func()) fyne.CanvasObject {
		j := p.w.p.Job()
		f := &form{p: p, about: about, shut: shut, was: unitBefore{slices.Clone(j.Unit), j.Text(record.OldControls)}, refused: map[*widget.Row]string{}, wrong: widget.NewWords("", theme.Small+0.5, false, theme.Bad)}
		f.col = widget.NewColumn(8, 14, widget.NewWords(title, theme.Figure, true, theme.Ink))
		f.scroll = widget.NewScroller(f.col)
		f.wrong.Hide()
		fill(f)
		return f.scroll
	})
}

// unitDrafts opens the names of drafts about the unit: the part and the entry
// follow.
const unitDrafts = "unit/"

func draftKey(about, label string) record.Key {
	return record.PlanKey(unitDrafts + about + "/" + label)
}

// draftOf is the inverse of draftKey.
func draftOf(key record.Key) (about, label string, ok bool) {
	name, _ := record.PlanName(key)
	name, ok = strings.CutPrefix(name, unitDrafts)
	about, label, _ = strings.Cut(name, "/")
	return about, label, ok
}

// rename moves the drafts about a part that has got another name.
func (f *form) rename(to string) {
	h := f.p.w.p
	for _, d := range slices.Clone(h.Job().Drafts) {
		if about, label, ok := draftOf(d.Key); ok && about == f.about {
			h.Draft(d.Key, "", "")
			h.Draft(draftKey(to, label), d.Value, d.Reason)
		}
	}
	f.about = to
}

// forget lets the drafts of the form go.
func (f *form) forget() {
	h := f.p.w.p
	for _, d := range slices.Clone(h.Job().Drafts) {
		if about, _, ok := draftOf(d.Key); ok && about == f.about {
			h.Draft(d.Key, "", "")
		}
	}
}

// row adds an entry; say hands over what was typed.
func (f *form) row(q widget.Field, value string, say func(text string) error) *widget.Row {
	h := f.p.w.p
	r := widget.NewRow(q)
	r.Page = func() *widget.Scroller { return f.scroll }
	r.SetValue(value, "", "", "")
	if d, ok := h.Job().Draft(draftKey(f.about, q.Label)); ok {
		wrong, note := d.Reason, "not entered; "+value+" stands"
		if f.adding() {
			wrong, note = "", ""
			if err := say(d.Value); err != nil {
				wrong = reason(err).Error()
			}
		}
		r.SetValue(d.Value, "", wrong, note)
		f.refused[r] = wrong
	}
	r.OnResize = f.scroll.Reflow
	r.OnCommit = func(_ *widget.Row, text, _ string) error {
		err := reason(say(text))
		r.Note = ""
		switch key := draftKey(f.about, q.Label); {
		case err != nil:
			h.Draft(key, text, err.Error())
		case f.adding():
			h.Draft(key, text, "not added yet")
		default:
			h.Draft(key, "", "")
			f.p.w.show()
		}
		return err
	}
	r.OnMove = func(from *widget.Row, by int) {
		if i := slices.Index(f.rows, from) + by; i >= 0 && i < len(f.rows) && f.rows[i].Focus() {
			f.scroll.Reveal(f.rows[i])
			return
		}
		from.Commit()
	}
	f.rows = append(f.rows, r)
	f.col.Add(r)
	return r
}

// reason is an error in whole words for beside a field.
func reason(err error) error {
	var e *netlist.Error
	if errors.As(err, &e) {
		return errors.New(Sentence(e.Kind.Error()) + ": " + e.Detail)
	}
	return err
}

func (f *form) say(text string, at fyne.CanvasObject) {
	f.wrong.Set(text)
	f.wrong.Show()
	f.scroll.Reflow()
	f.scroll.Reveal(at)
}

// key adds a key that does something and shuts the sheet, unless that fails. The
// strong one hands the entries over first, and stays once for what is refused.
func (f *form) key(text string, strong bool, do func() error) {
	t := widget.NewTap(text, nil)
	t.Strong = strong
	t.Do = func() {
		for _, r := range f.rows {
			if !strong {
				break
			}
			r.Commit()
			if r.Wrong() == "" || f.refused[r] == r.Wrong() && !f.adding() {
				continue
			}
			f.refused[r] = r.Wrong()
			if f.adding() {
				f.scroll.Reveal(r)
			} else {
				f.say("What is marked is not entered, but kept. Touch "+text+" again to leave it so.", r)
			}
			return
		}
		if err := do(); err != nil {
			f.say(Sentence(reason(err).Error()), f.wrong)
			return
		}
		f.shut()
		f.p.w.show()
	}
	f.col.Add(t)
}

// doneKeys end a form about a part that is there: what was changed in it is entered as it
// is left, and can be had back as a whole.
func (f *form) doneKeys() {
	f.key("Done", true, func() error { return nil })
	f.key("Cancel: leave it as it was", false, func() error {
		f.forget()
		if !bytes.Equal(f.was.raw, f.p.w.p.Job().Unit) {
			f.p.set(f.was.raw)
		}
		return nil
	})
}

// addKeys end a form about a part to add.
func (f *form) addKeys(add func() error) {
	f.key("Add it", true, func() error {
		if err := add(); err != nil {
			return err
		}
		f.forget()
		return nil
	})
	f.key("Cancel", false, func() error {
		f.forget()
		return nil
	})
}

// drafts lists what was typed about the unit and is not entered; a touch leads
// to it.
func (p *unitEditor) drafts(u *netlist.Unit) {
	h := p.w.p
	head := false
	for _, d := range h.Job().Drafts {
		about, label, ok := draftOf(d.Key)
		if !ok {
			continue
		}
		if !head {
			p.body.Add(widget.NewHeading("Typed and not entered"))
			head = true
		}
		c := widget.NewCard(about+", "+strings.ToLower(label[:1])+label[1:]+": "+d.Value, "draft", Sentence(d.Reason)+".", theme.Warning)
		switch {
		case about == addDevices:
			c.Do = p.addDevice
		case about == addConductors:
			c.Do = p.addConductor
		case u.Device(about) != nil:
			c.Do = func() { p.device(about) }
		case u.Conductor(about) != nil:
			c.Do = func() { p.conductor(about) }
		default:
			c.Why += " The unit has no such part now; touch to let it go."
			c.Do = func() {
				h.Draft(d.Key, "", "")
				p.w.show()
			}
		}
		p.body.Add(c)
	}
}

func text(label, help string) widget.Field {
	return widget.Field{Key: label, Label: label, Help: help, Kind: widget.TextField}
}

func pick(label string, options []string) widget.Field {
	return widget.Field{Key: label, Label: label, Kind: widget.PickField, Options: options}
}

func (p *unitEditor) device(id string) {
	h := p.w.p
	u, err := plan.Drawn(h.Job())
	if err != nil || u.Device(id) == nil {
		return
	}
	d := *u.Device(id)
	k := netlist.Kinds[d.Kind]
	p.form(id+": "+k.Words, id, func(f *form) {
		set := func(change func(d *netlist.Device)) error {
			return p.edit(func(u *netlist.Unit) error {
				o := u.Device(id)
				if o == nil {
					return fmt.Errorf("%s is gone", id)
				}
				n := u.Clone().Device(id) // its own numbers
				change(n)
				return u.SetDevice(*n)
			})
		}
		f.row(text("Name", ""), id, func(t string) error {
			if err := p.edit(func(u *netlist.Unit) error { return u.RenameDevice(id, t) }); err != nil {
				return err
			}
			id = t
			f.rename(t)
			return nil
		})
		f.row(text("What it is", ""), d.Label, func(t string) error {
			return set(func(d *netlist.Device) { d.Label = t })
		})
		f.row(pick("Where", netlist.Places), d.Place, func(t string) error {
			return set(func(d *netlist.Device) { d.Place = t })
		})
		if k.MayPigtail() {
			leads := map[bool]string{false: "on its terminals", true: "fixed to it"}
			f.row(pick("Its leads", []string{leads[false], leads[true]}), leads[d.Pigtail], func(t string) error {
				return set(func(d *netlist.Device) { d.Pigtail = t == leads[true] })
			})
		}
		if n, ok := strings.CutPrefix(d.Kind, contactorKind); ok {
			f.row(pick("Poles that open", []string{"1", "2"}), strings.TrimSuffix(n, "p"), func(t string) error {
				return set(func(d *netlist.Device) { d.Kind = contactorKind + t + "p" })
			})
		}
		for _, q := range netlist.Fields(d.Kind) {
			f.row(pick(fieldNames[q.Name], append([]string{notStated}, q.Words...)), cmp.Or(*q.Of(&d), notStated), func(t string) error {
				return set(func(d *netlist.Device) { *q.Of(d) = strings.TrimSuffix(t, notStated) })
			})
		}
		only := map[bool]string{false: "may say more than its name", true: "is its name and says nothing else"}
		f.row(pick("What its words say", []string{only[false], only[true]}), only[d.NameOnly], func(t string) error {
			return set(func(d *netlist.Device) { d.NameOnly = t == only[true] })
		})
		for _, q := range k.Params {
			label, u := paramWords(q)
			f.row(text(label, ""), strconv.FormatFloat(u.FromSI(d.P(q.Name), 0), 'g', 6, 64), func(t string) error {
				x, err := units.Number(t)
				if err != nil {
					return err
				}
				return set(func(d *netlist.Device) {
					if d.Params == nil {
						d.Params = map[string]float64{}
					}
					d.Params[q.Name] = u.ToSI(x, 0)
				})
			})
		}
		f.col.Add(f.wrong)
		f.doneKeys()
		f.key("Take it out; its conductors are capped", false, func() error {
			return p.edit(func(u *netlist.Unit) error { return u.DeleteDevice(id) })
		})
	})
}

// contactorKind begins the kinds of contactors, which have the same terminals and numbers
// and differ in their poles.
const contactorKind = "contactor-"

// notStated is the answer that leaves a field of a device empty.
const notStated = "not stated"

var fieldNames = map[string]string{"condition": "As found", "sits": "Where it senses", "system": "System of the supply", "use": "What it works"}

var (
	paramDims = map[string]units.Dimension{"F": units.Capacitance, "A": units.Current, "V": units.Voltage, "ohm": units.Resistance, "Pa": units.Pressure}
	// Words of a number's name that are the unit, which is said anyway: at the
	// head the quantity stands for them.
	quantities = map[string]string{"volts": "voltage", "amps": "current", "ohms": "resistance", "watts": "power", "seconds": "time", "henries": "inductance", "farads": "capacitance", "va": "rating"}
	asWritten  = map[string]string{"dc": "DC", "rla": "RLA", "lra": "LRA", "y1": "Y1"}
)

// paramWords names a number of a device with the unit it is typed in.
func paramWords(q netlist.Param) (string, units.Unit) {
	var words []string
	for i, w := range strings.Split(q.Name, "-") {
		switch {
		case quantities[w] != "" && i == 0 || w == "farads":
			w = quantities[w]
		case quantities[w] != "":
			continue
		case asWritten[w] != "":
			w = asWritten[w]
		}
		words = append(words, w)
	}
	u := units.Unit{Label: q.Unit, Scale: 1}
	if d, ok := paramDims[q.Unit]; ok {
		u = units.Preferred(d, units.IP)
	}
	return strings.TrimSuffix(Sentence(strings.Join(words, " "))+", "+u.Label, ", "), u
}

func (p *unitEditor) addDevice() {
	h := p.w.p
	u, err := plan.Drawn(h.Job())
	if err != nil {
		return
	}
	p.form("A device to add", addDevices, func(f *form) {
		kinds := netlist.KindNames()
		q := pick("What it is", kinds)
		for _, k := range kinds {
			q.Says = append(q.Says, netlist.Kinds[k].Words)
		}
		d := plan.NewDevice(u, "")
		var label *widget.Row
		f.row(q, "", func(t string) error {
			own := d.Label != plan.NewDevice(u, d.Kind).Label // typed, not offered
			d.Kind = t
			if !own {
				d.Label = plan.NewDevice(u, t).Label
				if label != nil {
					label.SetValue(d.Label, "", "", "")
				}
			}
			return nil
		})
		f.row(text("Name", ""), d.ID, func(t string) error { d.ID = t; return nil })
		label = f.row(text("In words", ""), d.Label, func(t string) error { d.Label = t; return nil })
		f.row(pick("Where", netlist.Places), d.Place, func(t string) error { d.Place = t; return nil })
		f.col.Add(f.wrong)
		f.addKeys(func() error {
			if d.Kind == "" {
				return errors.New("say what it is")
			}
			return p.edit(func(u *netlist.Unit) error { return u.AddDevice(d) })
		})
	})
}

func gauges() (out []string) {
	for g := range netlist.Gauges {
		out = append(out, gaugeWord(g))
	}
	slices.SortFunc(out, func(a, b string) int { return gauge(b) - gauge(a) })
	return out
}

func gaugeWord(g int) string { return strconv.Itoa(g) + " AWG" }

func volts(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

func gauge(t string) int {
	n, _ := strconv.Atoi(strings.TrimSuffix(t, " AWG"))
	return n
}

var classes = []string{classWords[netlist.Line], classWords[netlist.Class2], classWords[netlist.Ground]}

// conductorRows are the entries of a conductor; set is told the whole of it.
func (f *form) conductorRows(u *netlist.Unit, c netlist.Conductor, set func(change func(c *netlist.Conductor)) error) {
	where := plan.Terminals(u)
	f.row(pick("From", where), c.From, func(t string) error { return set(func(c *netlist.Conductor) { c.From = t }) })
	f.row(pick("To", where), c.To, func(t string) error { return set(func(c *netlist.Conductor) { c.To = t }) })
	f.row(text("Colour", ""), c.Colour, func(t string) error { return set(func(c *netlist.Conductor) { c.Colour = t }) })
	f.row(pick("Gauge", gauges()), gaugeWord(c.Gauge), func(t string) error { return set(func(c *netlist.Conductor) { c.Gauge = gauge(t) }) })
	f.row(pick("Circuit", classes), classWords[c.Class], func(t string) error {
		return set(func(c *netlist.Conductor) {
			for k, w := range classWords {
				if w == t {
					c.Class = k
				}
			}
		})
	})
	f.row(pick("Metal", append([]string{notStated}, netlist.Metals...)), cmp.Or(c.Metal, notStated), func(t string) error {
		return set(func(c *netlist.Conductor) { c.Metal = strings.TrimSuffix(t, notStated) })
	})
	f.row(text("Insulation, V", ""), volts(c.Insulation), func(t string) error {
		x, err := units.Number(t)
		if err != nil {
			return err
		}
		return set(func(c *netlist.Conductor) { c.Insulation = x })
	})
	f.col.Add(f.wrong)
}

func (p *unitEditor) conductor(id string) {
	h := p.w.p
	u, err := plan.Drawn(h.Job())
	if err != nil || u.Conductor(id) == nil {
		return
	}
	p.form("Conductor "+id, id, func(f *form) {
		f.row(text("Name", ""), id, func(t string) error {
			if err := p.edit(func(u *netlist.Unit) error { return u.RenameConductor(id, t) }); err != nil {
				return err
			}
			id = t
			f.rename(t)
			return nil
		})
		f.conductorRows(u, *u.Conductor(id), func(change func(c *netlist.Conductor)) error {
			return p.edit(func(u *netlist.Unit) error {
				o := u.Conductor(id)
				if o == nil {
					return fmt.Errorf("%s is gone", id)
				}
				n := *o
				change(&n)
				return u.SetConductor(n)
			})
		})
		f.doneKeys()
		f.key("Take it out", false, func() error {
			return p.edit(func(u *netlist.Unit) error { return u.DeleteConductor(id) })
		})
	})
}

func (p *unitEditor) addConductor() {
	h := p.w.p
	u, err := plan.Drawn(h.Job())
	if err != nil {
		return
	}
	p.form("A conductor to add", addConductors, func(f *form) {
		c := plan.NewConductor(u, netlist.Capped)
		f.row(text("Name", ""), c.ID, func(t string) error { c.ID = t; return nil })
		f.conductorRows(u, c, func(change func(c *netlist.Conductor)) error {
			was := plan.NewConductor(u, c.From)
			change(&c)
			// What fits its new beginning, where nothing else was said.
			n := plan.NewConductor(u, c.From)
			offer := func(label, value string) {
				for _, r := range f.rows {
					if r.Field.Key == label {
						r.SetValue(value, "", "", "")
					}
				}
			}
			if c.Gauge == was.Gauge && n.Gauge != was.Gauge {
				c.Gauge = n.Gauge
				offer("Gauge", gaugeWord(c.Gauge))
			}
			if c.Class == was.Class && n.Class != was.Class {
				c.Class = n.Class
				offer("Circuit", classWords[c.Class])
			}
			if c.Insulation == was.Insulation && n.Insulation != was.Insulation {
				c.Insulation = n.Insulation
				offer("Insulation, V", volts(c.Insulation))
			}
			return nil
		})
		f.addKeys(func() error {
			return p.edit(func(u *netlist.Unit) error { return u.AddConductor(c) })
		})
	})
}
