package app

import (
	"encoding/json"
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/section"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/app/words"
	"retrostage/reports/archive"
	"retrostage/reports/owner"
	"retrostage/reports/record"
	"retrostage/reports/version"
	"retrostage/thermo/units"
)

// own is what a person sets once for every job. It stays with the user of the machine.
type own struct {
	Glove   bool                `json:"glove,omitempty"`   // everything a fifth larger
	Letters bool                `json:"letters,omitempty"` // letters on the glass with a text
	Tools   []record.Instrument `json:"tools,omitempty"`
	Begun   bool                `json:"begun,omitempty"`  // was asked at the first start
	Camera  string              `json:"camera,omitempty"` // folder that a camera or phone fills

	Language string `json:"language,omitempty"` // as words has it
	Mark     string `json:"mark,omitempty"`
}

// gloved is how much larger everything is for a glove: the toolkit gives a target of 48
// units 10.2 mm on a display that tells its size (120 units an inch), so 1.2 gives 12.2.
const gloved = "1.2"

// scaleName is what the toolkit reads the size of everything from, beside the display's own.
const scaleName = "FYNE_SCALE"

// size sets how large everything is; what somebody has set for the machine stays.
func (o own) size(mine bool) {
	switch {
	case o.Glove && os.Getenv(scaleName) == "":
		os.Setenv(scaleName, gloved)
	case !o.Glove && mine && os.Getenv(scaleName) == gloved:
		os.Unsetenv(scaleName)
	}
}

// recall reads what was set; what cannot be read is as if nothing was.
func recall(pref settings) own {
	var o own
	if json.Unmarshal([]byte(pref.String("own")), &o) != nil {
		return own{}
	}
	return o
}

func (o own) keep(pref settings) {
	if b, err := json.Marshal(o); err == nil {
		pref.SetString("own", string(b))
	}
}

// setup is the sheet of what is set once, at the first start and whenever it is opened.
type setup struct {
	b     *Bench
	page  *widget.Scroller
	body  *fyne.Container
	wrong *widget.Words // why whom to call is not kept
	was   string        // whom to call, as it is kept
	who   *widget.TextEntry
	call  *widget.TextEntry
	cam   *widget.TextEntry
	keys  *widget.Letters
	first bool
	shut  func()
}

// Settings opens the sheet.
func (b *Bench) Settings(first bool) {
	fill := func(shut func()) (fyne.CanvasObject, func()) {
		s := &setup{b: b, first: first, shut: shut, body: widget.NewColumn(8, 12)}
		s.page = widget.NewScroller(s.body)
		s.call = widget.NewTextEntry("", "for example: the office, 555-0100")
		s.wrong = widget.NewWords("", theme.Small+0.5, false, theme.Bad)
		s.cam = widget.NewTextEntry(b.own.Camera, "path of a folder; empty for none")
		s.who = widget.NewTextEntry(b.person, "your reference, such as T-17; no name is needed")
		// As it is kept, which is read beside the finger; what is typed meanwhile stays.
		dir := b.settingsDir()
		b.exporting.Ask(func() func() {
			call, err := owner.Calls(dir)
			return func() {
				if err != nil {
					s.wrong.Set(section.Sentence(err.Error()))
				} else if s.call.Text == "" {
					s.was = call
					s.call.SetText(call)
				}
			}
		})
		s.build()
		return s.page, s.done // what was set holds already; the rest is kept as by its key
	}
	if first { // which begins at its end
		b.Sheet(760, 740, func(shut func()) fyne.CanvasObject {
			page, _ := fill(shut)
			return page
		})
		return
	}
	b.pageSheet(760, 740, fill)
}

func (s *setup) build() {
	b := s.b
	s.keys = widget.NewLetters()
	s.who.OnGain = func() { s.keys.Aim(s.who, func() { s.focus(s.call) }) }
	s.call.OnGain = func() { s.keys.Aim(s.call, s.away) }
	s.cam.OnGain = func() { s.keys.Aim(s.cam, s.away) }
	s.cam.OnSubmitted = func(string) { s.away() }
	s.who.OnSubmitted = func(string) { s.focus(s.call) }
	s.call.OnSubmitted = func(string) { s.done() }
	s.keys.Aim(s.who, func() { s.focus(s.call) })
	title := "Settings"
	if s.first {
		title = "Before the first job"
	}
	quiet := func(text string) *widget.Words {
		return widget.NewWords(text, theme.Small+0.5, false, theme.Muted)
	}
	add := func(os ...fyne.CanvasObject) {
		for _, o := range os {
			s.body.Add(o)
		}
	}
	s.body.RemoveAll()
	add(widget.NewWords(title, theme.Title, true, theme.Ink))
	if s.first {
		add(quiet("These are asked once. All can be changed later: touch your reference in the bar, then Settings."))
	}
	add(widget.NewHeading("Who is typing?"), s.who, quiet("It stands beside every entry from now on."),
		widget.NewHeading("Whom should an owner call?"), s.call, s.wrong, quiet("On the owner's page of every job that names nobody of its own."))
	if b.own.Letters || s.first {
		add(s.keys)
	}
	languages := map[string]string{words.System: "as the system", words.English: "English", words.Spanish: "Spanish, not reviewed by a native speaker"}
	add(widget.NewHeading("Language"), widget.NewChoose([]string{languages[words.System], languages[words.English], languages[words.Spanish]}, languages[b.own.Language], func(o string) {
		for l, said := range languages {
			if said == o {
				s.take()
				b.SetLanguage(l, b.own.Mark)
				s.again()
			}
		}
	}))
	marks := map[string]string{"": "as the region", words.Point: "point, 1.5", words.Comma: "comma, 1,5"}
	add(widget.NewHeading("Decimals"), widget.NewChoose([]string{marks[""], marks[words.Point], marks[words.Comma]}, marks[b.own.Mark], func(o string) {
		for m, said := range marks {
			if said == o {
				s.take()
				b.SetLanguage(b.own.Language, m)
				s.again()
			}
		}
	}), quiet("What is signed, exported and kept stays in English words; this is what the window shows."))
	const ip, si = "psig, °F, ounces", "kPa, °C, kilograms"
	unit := ip
	if b.system == units.SI {
		unit = si
	}
	add(widget.NewHeading("Units that are shown"), widget.NewChoose([]string{ip, si}, unit, func(o string) {
		sys := units.IP
		if o == si {
			sys = units.SI
		}
		s.take()
		b.SetSystem(sys)
	}), quiet("Anything can be typed in any unit all the same."))
	const bare, glove = "finger", "glove"
	size := bare
	if b.own.Glove {
		size = glove
	}
	add(widget.NewHeading("Keys for"), widget.NewChoose([]string{bare, glove}, size, func(o string) {
		b.own.Glove = o == glove
		b.own.size(true)
		b.Remember()
		if b.rescale != nil {
			b.rescale()
		}
	}), quiet("10 mm and 12 mm on the glass, where the display tells its size."))
	const none, numbers, all = "none", "for numbers", "for numbers and words"
	glass := none
	switch {
	case b.own.Letters:
		glass = all
	case b.keys:
		glass = numbers
	}
	add(widget.NewHeading("Keys on the glass"), widget.NewChoose([]string{none, numbers, all}, glass, func(o string) {
		b.keys, b.own.Letters, b.keyboard = o != none, o == all, false
		b.window.paintBar()
		b.Remember()
	}), quiet("For words where the system's own keyboard does not come up."))
	add(widget.NewHeading("My instruments"))
	if len(b.sitting.Mine) == 0 {
		add(quiet("None yet. A job takes them at one touch; a calibration whose date is past is told."))
	}
	for _, i := range b.sitting.Mine {
		add(section.ToolCard(i, b.now()))
		add(widget.NewTap("Take "+i.ID+" off the list", func() {
			s.take()
			b.sitting.Mine = without(b.sitting.Mine, i.ID)
			b.Remember()
			s.again()
		}))
	}
	add(widget.NewTap("Add an instrument of mine", func() {
		s.take()
		section.AskInstrument(b, "", func(i record.Instrument, _ bool) error {
			mine, err := section.WithInstrument(b.sitting.Mine, i)
			if err != nil {
				return err
			}
			b.sitting.Mine = mine
			b.Remember()
			s.again()
			return nil
		})
	}))
	if !s.first {
		add(widget.NewHeading("Folder that a camera or a phone fills"), s.cam, quiet(b.cameraSays()))
		if dir := b.trouble.Dir(); dir != "" {
			add(widget.NewHeading("When something goes wrong"), quiet("A log, with names, paths and numbers taken out, and the report of a breakdown are kept in "+dir+
				". Read a report before you send it: the line that names the fault is as the program wrote it."))
		}
		add(widget.NewTap("About, and the licences of what is built in", func() { b.About() }))
	}
	ok := widget.NewTap("Done", s.done)
	if s.first {
		ok = widget.NewTap("Begin with a job", s.done)
		add(widget.NewTap("See the demo job first, in five minutes", func() {
			s.end(func() { b.demoJob(func() { b.Help("demo") }) })
		}))
	}
	ok.Strong = true
	add(ok)
	s.page.Reflow()
}

func without(list []record.Instrument, id string) (out []record.Instrument) {
	for _, i := range list {
		if i.ID != id {
			out = append(out, i)
		}
	}
	return out
}

func (s *setup) focus(e fyne.Focusable) {
	if c := s.b.theCanvas(); c != nil {
		c.Focus(e)
	}
}

func (s *setup) away() {
	if c := s.b.theCanvas(); c != nil {
		c.Unfocus()
	}
}

// take keeps who is typing, which other parts of the sheet need at once.
func (s *setup) take() { s.b.SetPerson(s.who.Text) }

func (s *setup) again() {
	y := s.page.Offset()
	s.build()
	s.page.Resume(y)
}

func (s *setup) done() { s.end(func() {}) }

// end keeps everything and goes away; what cannot be kept is said and stays.
func (s *setup) end(then func()) {
	s.take()
	b, dir, to := s.b, s.b.settingsDir(), strings.TrimSpace(s.call.Text)
	b.own.Begun, b.own.Camera = true, strings.TrimSpace(s.cam.Text)
	b.Remember()
	gone := func() {
		s.shut()
		b.Remake(nil)
		then()
	}
	if to == s.was {
		gone()
		return
	}
	b.exporting.Ask(func() func() {
		err := owner.SetCalls(dir, to)
		return func() {
			if err != nil {
				s.wrong.Set(section.Sentence(err.Error()))
				s.page.Reflow()
				s.page.Lead(s.call)
				return
			}
			gone()
		}
	})
}

// About says what this is, and on what terms.
func (b *Bench) About() {
	b.pageSheetTo("Back", 760, 700, func(func()) (fyne.CanvasObject, func()) {
		col := widget.NewColumn(8, 12, widget.NewWords(version.String(), theme.Figure, true, theme.Ink),
			widget.NewWords(runtime.Version()+", "+runtime.GOOS+"/"+runtime.GOARCH, theme.Small+0.5, false, theme.Muted))
		page := widget.NewScroller(col)
		said := widget.NewWords("Reading the licences", theme.Small+0.5, false, theme.Muted)
		col.Add(said)
		var reading widget.Latest
		reading.Now = b.assessing.Now
		reading.Ask(func() func() {
			text, where := licences()
			return func() {
				said.Set(where)
				for _, part := range text {
					col.Add(widget.NewWords(part, theme.Small, false, theme.Ink))
				}
				page.Reflow()
			}
		})
		return page, nil
	})
}

// licences are the texts that lie beside the program, or where Debian keeps them, with
// the name of the file; a program built by hand has none.
func licences() (parts []string, where string) {
	exe, err := os.Executable()
	if err != nil {
		return nil, "The licences cannot be looked for: " + err.Error()
	}
	for _, path := range []string{filepath.Join(filepath.Dir(exe), "LICENCES.txt"), "/usr/share/doc/retrostage/copyright"} {
		b, err := archive.Read(path, 4<<20)
		if err != nil {
			continue
		}
		// A paragraph a time: one long text would hold up the window.
		for _, p := range strings.Split(string(b), "\n\n") {
			if p = strings.TrimSpace(p); p != "" {
				parts = append(parts, p)
			}
		}
		return parts, "From " + path
	}
	return nil, "This program was built without the file of licences; a release has LICENCES.txt beside it."
}
