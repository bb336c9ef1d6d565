package widget

import (
	"image/color"
	"slices"
	"strings"
	"time"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/words"
)

// Kind of a field, as it is typed.
type Kind int

// The kinds.
const (
	TextField Kind = iota
	NoteField
	PickField
	NumberField
	DateField
)

// Field is what a row needs to know of a field.
type Field struct {
	Key, Label, Help string
	Kind             Kind
	Units            []string // words for the units, the one in use being Unit
	Unit             string
	Options          []string
	Says             []string // words shown for the options in a list, where they are not the options themselves
	Keys             bool     // the options are keys side by side, however many
	Need             bool
	Tools            []string // what it may be read with; the one in use being Tool
	Tool             string
	Word             string // a word that may stand in place of a number, as a key of its own
}

// Meaning is one way in which what was typed can be meant: a key takes it.
type Meaning struct {
	Words string
	Take  func()
}

// Row is one field: its label, the entry, its unit, and what is wrong with what
// was typed. What was typed is never taken away.
type Row struct {
	widget.BaseWidget
	Field Field

	// OnCommit is called when the finger leaves the entry with something new
	// in it. The error is shown beside the entry.
	OnCommit func(r *Row, text, unit string) error
	OnFocus  func(r *Row, got bool)
	OnMove   func(r *Row, by int) // to the next (1) or previous (-1) entry
	OnNext   func(r *Row)         // ended with Enter, or the key that says so: to the next that is wanted; nil is OnMove
	OnChosen func(r *Row)         // something was chosen where nothing stood
	OnResize func()
	OnTyping func(r *Row, text, unit string) // at each change, before it is committed
	OnTool   func(r *Row, tool string)
	OnKeep   func(r *Row, text string)  // of a note being typed: to be kept, not entered
	OnPast   func(r *Row)               // its label is held, or its note touched: what stood here before
	OnCursor func(r *Row, y, h float32) // of a note: where in the row the cursor is
	OnKeys   func(r *Row)               // a keyboard typed into it, and not the keys on the glass
	OnStray  func(r *Row, typed string) // letters or figures typed where a touch answers: they go nowhere
	Page     func() *Scroller           // what it stands on: a finger that drags over the entry moves it

	Note string // said below in a quiet tone: when, by what

	entry     *entry
	note      *note
	pick      *pick
	list      *list
	unitTap   *Tap
	means     *Choose // the ways in which what was typed can be meant
	wordTap   *Tap
	veil      *veil // nil where nothing is typed into
	wheel     *wheel
	label     *Words
	wrong     *Words
	quiet     *Words
	form      *Words // of a note that is read line by line: what a line holds; nil without
	err       string
	committed string // text and unit last handed over
	stands    string // text last set: the row makes room for it, not for what is being typed
	focused   bool
	lit       bool // what is typed into or chosen from has the cursor
	kept      bool // a note was kept that is not entered
	keeping   *time.Timer
	holding   *time.Timer // a finger lies on the label
	past      bool        // it lay there long enough
	stray     string      // typed into a choice since it has the cursor
	late      *[2]string  // text and unit to show once the cursor has left
}

// NewRow makes a row.
func NewRow(f Field) *Row {
	r := &Row{Field: f}
	r.label = NewWords(f.Label, theme.Text-1, false, theme.Ink)
	r.wrong = NewWords("", theme.Small+0.5, false, theme.Bad)
	r.quiet = NewWords("", theme.Small-0.5, false, theme.Muted)
	r.quiet.Max = 2 // one beside a label of more lines: see shape
	switch {
	case f.Kind == PickField && (f.Keys || short(f.Options)):
		r.pick = newPick(r, f.Options)
	case f.Kind == PickField:
		r.list = newList(r)
	case f.Kind == NoteField:
		r.note = newNote(r)
		if strings.HasPrefix(f.Help, "One a line") {
			r.form = NewWords(f.Help, theme.Small-0.5, false, theme.Muted)
		}
	default:
		r.entry = newEntry(r)
		r.veil, r.wheel = newVeil(r), newWheel(r)
		if f.Kind == DateField {
			r.entry.SetPlaceHolder(words.Say("yyyy-mm-dd"))
		}
	}
	if f.Kind == DateField {
		r.unitTap = NewTap("today", func() {
			r.entry.SetText(time.Now().Format(time.DateOnly))
			r.Commit()
		})
		r.unitTap.Flat = true
		r.unitTap.Px = theme.Text - 1
	}
	if f.Word != "" {
		r.wordTap = NewTap(f.Word, func() {
			r.entry.unmark()
			was, _, _ := strings.Cut(r.committed, "\x00")
			r.entry.SetText(f.Word)
			r.Commit()
			if was == "" && r.OnChosen != nil {
				r.OnChosen(r)
			}
		})
		r.wordTap.Px = theme.Text - 1
	}
	if f.Kind == NumberField && f.Unit != "" {
		r.unitTap = NewTap(f.Unit, r.pickUnit)
		if len(f.Units) > 1 || len(f.Tools) > 1 {
			r.unitTap.Tail = "more"
		}
		r.unitTap.Flat = true
		r.unitTap.Px = theme.Text - 1
	}
	r.ExtendBaseWidget(r)
	return r
}

// short tells that options are better as keys side by side than as a list.
func short(options []string) bool {
	n := 0
	for _, o := range options {
		n += len(o)
	}
	return len(options) <= 4 && n <= 46
}

// SetValue shows what the record holds, unless the entry is being typed in.
func (r *Row) SetValue(text, unit, wrong, note string) {
	if unit == "" {
		unit = r.Field.Unit
	}
	width := r.Size().Width
	tall := r.HeightFor(width)
	changed := r.err != wrong || r.Note != note
	r.err, r.Note = wrong, note
	r.wrong.Text, r.quiet.Text = wrong, note
	if r.focused || r.pending() {
		r.late = &[2]string{text, unit}
	} else {
		r.set(text, unit)
	}
	if (changed || tall != r.HeightFor(width)) && r.OnResize != nil {
		r.OnResize()
	}
	r.Refresh()
}

// set shows a text and its unit as what was handed over last.
func (r *Row) set(text, unit string) {
	r.late = nil
	if r.Field.Kind == NumberField && r.err == "" {
		text = words.Number(text)
	}
	r.stands = text
	r.committed = text + "\x00" + unit
	r.show(text)
	r.Field.Unit = unit
	if r.unitTap != nil && r.Field.Kind == NumberField {
		r.unitTap.Set(unit, false)
	}
}

// SetMeanings offers the ways in which what was typed can be meant; none takes the
// keys away.
func (r *Row) SetMeanings(ms []Meaning) {
	var words []string
	for _, m := range ms {
		words = append(words, m.Words)
	}
	if r.means == nil && words == nil {
		return
	}
	same := r.means != nil && slices.Equal(words, r.means.Options)
	if !same {
		r.means = nil
		if words != nil {
			r.means = NewChoose(words, "", nil)
		}
	}
	if r.means != nil {
		r.means.Do = func(o string) {
			r.means.Select("")
			if i := slices.Index(words, o); i >= 0 {
				ms[i].Take()
			}
		}
	}
	if !same {
		if r.OnResize != nil {
			r.OnResize()
		}
		r.Refresh()
	}
}

// Meanings is the keys that are offered, nil where there is nothing to ask.
func (r *Row) Meanings() *Choose { return r.means }

func (r *Row) show(text string) {
	switch {
	case r.note != nil && r.note.Text() != text:
		r.note.SetText(text)
	case r.entry != nil && r.entry.Text != text:
		r.entry.SetText(text)
	case r.pick != nil:
		r.committed = text + "\x00"
		r.pick.Select(text)
	case r.list != nil && r.option(r.list.Selected) != text:
		do := r.list.OnChanged
		r.list.OnChanged = nil
		if text == "" {
			r.list.ClearSelected()
		} else if i := slices.Index(r.Field.Options, text); i >= 0 {
			r.list.SetSelected(r.says()[i])
		}
		r.list.OnChanged = do
	}
}

func (r *Row) says() []string {
	if len(r.Field.Says) == len(r.Field.Options) {
		return words.All(r.Field.Says)
	}
	return words.All(r.Field.Options)
}

// SetSays changes the words shown for the options of a list; none leaves them.
func (r *Row) SetSays(says []string) {
	if r.list == nil || len(says) != len(r.Field.Options) || slices.Equal(says, r.Field.Says) {
		return
	}
	chosen := r.Text()
	r.Field.Says = says
	do := r.list.OnChanged
	r.list.OnChanged = nil
	r.list.SetOptions(r.says())
	if i := slices.Index(r.Field.Options, chosen); i >= 0 {
		r.list.SetSelected(r.says()[i])
	}
	r.list.OnChanged = do
}

// option is the option that is shown as said.
func (r *Row) option(said string) string {
	if i := slices.Index(r.says(), said); i >= 0 {
		return r.Field.Options[i]
	}
	return said
}

// Text is what stands in the entry.
func (r *Row) Text() string {
	switch {
	case r.note != nil:
		return r.note.Text()
	case r.entry != nil:
		return r.entry.Text
	case r.pick != nil:
		return r.pick.Chosen
	}
	return r.option(r.list.Selected)
}

// Wrong is what is said to be wrong, "" for nothing.
func (r *Row) Wrong() string { return r.err }

// pending tells whether something typed has not been handed over yet.
func (r *Row) pending() bool {
	if !r.typedIn() {
		return false
	}
	was, _, _ := strings.Cut(r.committed, "\x00")
	return strings.TrimSpace(r.Text()) != was
}

// typedIn tells whether text is typed into the row.
func (r *Row) typedIn() bool { return r.entry != nil || r.note != nil }

// keepAfter is how long something typed into a note may go unsaved.
var keepAfter = 1200 * time.Millisecond

// typed is told of each change of a note: it is kept while it is being typed, so
// that nothing but the last words is lost whatever happens.
func (r *Row) typed() {
	if r.OnKeep == nil || r.keeping != nil || !r.focused {
		return
	}
	r.keeping = time.AfterFunc(keepAfter, func() { fyne.Do(r.keep) })
}

func (r *Row) keep() {
	if r.keeping == nil {
		return
	}
	r.keeping = nil
	if r.pending() {
		r.kept = true
		r.OnKeep(r, strings.TrimSpace(r.Text()))
	}
}

// SetKept says that what stands here was kept and not entered: leaving enters it.
func (r *Row) SetKept() { r.kept = true }

// Commit hands over what stands in the entry if it is new.
func (r *Row) Commit() {
	if r.typedIn() {
		r.commit(r.Text())
	}
}

func (r *Row) commit(text string) {
	text = strings.TrimSpace(text)
	unit := r.Field.Unit
	key := text + "\x00" + unit
	if r.pick != nil || r.list != nil {
		key = text + "\x00"
	}
	if r.keeping != nil {
		r.keeping.Stop()
		r.keeping = nil
	}
	if key == r.committed && !r.kept || r.OnCommit == nil {
		return
	}
	r.kept = false
	r.committed, r.late = key, nil
	was := r.err
	r.err = ""
	if err := r.OnCommit(r, text, unit); err != nil {
		r.err = err.Error()
	}
	r.wrong.Text = r.err
	if was != r.err && r.OnResize != nil {
		r.OnResize()
	}
	r.Refresh()
}

// SetUnit changes the unit; a number that stands there is handed over again in
// the new unit, as typed.
func (r *Row) SetUnit(u string) {
	if r.Field.Unit == u {
		return
	}
	r.Field.Unit = u
	if r.unitTap != nil {
		r.unitTap.Set(u, false)
	}
	if r.entry != nil && strings.TrimSpace(r.entry.Text) != "" && !r.focused {
		r.Commit()
	}
	r.Refresh()
}

// SetTool says what the reading is taken with; a reading that stands there is
// handed over again.
func (r *Row) SetTool(tool string) {
	if r.Field.Tool == tool {
		return
	}
	r.Field.Tool = tool
	if r.OnTool != nil {
		r.OnTool(r, tool)
	}
}

// pickUnit opens the list of units and of what the reading may be taken with, which
// needs no keypad.
func (r *Row) pickUnit() {
	if len(r.Field.Units) < 2 && len(r.Field.Tools) < 2 {
		return
	}
	c := fyne.CurrentApp().Driver().CanvasForObject(r)
	if c == nil {
		return
	}
	var items []*fyne.MenuItem
	add := func(word string, on bool, do func()) {
		i := fyne.NewMenuItem(words.Say(word), do)
		i.Checked = on
		items = append(items, i)
	}
	for _, u := range r.Field.Units {
		add(u, u == r.Field.Unit, func() { r.SetUnit(u) })
	}
	if len(r.Field.Tools) > 1 {
		items = append(items, fyne.NewMenuItemSeparator())
		for _, t := range r.Field.Tools {
			add("Read with: "+t, t == r.Field.Tool, func() { r.SetTool(t) })
		}
	}
	at := fyne.CurrentApp().Driver().AbsolutePositionForObject(r.unitTap)
	widget.ShowPopUpMenuAtPosition(fyne.NewMenu("", items...), c, at.AddXY(0, r.unitTap.Size().Height))
}

// Focus puts the cursor into the entry and marks what stands there, so that
// typing replaces it.
func (r *Row) Focus() bool {
	c := fyne.CurrentApp().Driver().CanvasForObject(r)
	if c == nil {
		return false
	}
	switch {
	case r.note != nil:
		c.Focus(r.note)
	case r.entry != nil:
		c.Focus(r.entry)
		if r.entry.Text != "" {
			r.entry.TypedShortcut(&fyne.ShortcutSelectAll{})
		}
	case r.list != nil:
		c.Focus(r.list)
	default:
		c.Focus(r.pick)
	}
	return true
}

// End ends the entry and goes on to the next that is wanted.
func (r *Row) End() {
	switch {
	case r.OnNext != nil:
		r.OnNext(r)
	case r.OnMove != nil:
		r.OnMove(r, 1)
	default:
		r.Commit()
	}
}

// choose hands over an option that was touched; where none stood it goes on.
func (r *Row) choose(o string) {
	was, _, _ := strings.Cut(r.committed, "\x00")
	r.commit(o)
	if was == "" && o != "" && r.OnChosen != nil {
		r.OnChosen(r)
	}
}

// Lit tells whether the row has the cursor.
func (r *Row) Lit() bool { return r.lit }

// light is told when what is typed into or chosen from gets or loses the cursor.
func (r *Row) light(on bool) {
	r.lit, r.stray = on, ""
	r.Refresh()
	if r.OnFocus != nil {
		r.OnFocus(r, on)
	}
}

// strayed tells what is typed while a choice has the cursor: nothing that was typed goes
// without a word.
func (r *Row) strayed(c rune) {
	if c <= ' ' {
		return
	}
	r.stray += string(c)
	r.Note = "typed " + r.stray + ": not entered"
	r.quiet.Text = r.Note
	r.Refresh()
	if r.OnStray != nil {
		r.OnStray(r, r.stray)
	}
}

// Tapped implements fyne.Tappable: the label and what is below it lead to the
// entry too, the note of when and by what to what stood there before.
func (r *Row) Tapped(e *fyne.PointEvent) {
	switch {
	case r.past:
		r.past = false
	case r.OnPast != nil && e != nil && r.Note != "" && covers(r.quiet, e.Position):
		r.OnPast(r)
	case !r.focused:
		r.Focus()
	}
}

func covers(o fyne.CanvasObject, p fyne.Position) bool {
	a, s := o.Position(), o.Size()
	return o.Visible() && p.X >= a.X && p.Y >= a.Y && p.X < a.X+s.Width && p.Y < a.Y+s.Height
}

// TappedSecondary implements fyne.SecondaryTappable.
func (r *Row) TappedSecondary(*fyne.PointEvent) {
	if r.OnPast != nil {
		r.OnPast(r)
	}
}

// holdAfter is how long a finger lies on a label to ask what stood there before.
var holdAfter = 600 * time.Millisecond

// MouseDown implements desktop.Mouseable: the desktop's toolkit tells of no long press.
func (r *Row) MouseDown(e *desktop.MouseEvent) {
	r.past = false
	held.row, held.moved = r, 0
	if r.OnPast == nil || e.Button != desktop.MouseButtonPrimary {
		return
	}
	var t *time.Timer
	t = time.AfterFunc(holdAfter, func() {
		fyne.Do(func() {
			if r.holding == t {
				r.holding, r.past = nil, true
				r.OnPast(r)
			}
		})
	})
	r.holding = t
}

// held is the row on which a finger lies, and how far it has moved since.
var held struct {
	row   *Row
	moved float32
}

// slid is told that the finger moves the page: one that has moved further than it trembles
// does not hold a label.
func slid(dy float32) {
	if held.moved += max(dy, -dy); held.row != nil && held.moved > 10 {
		held.row.MouseUp(nil)
		held.row = nil
	}
}

// MouseUp implements desktop.Mouseable.
func (r *Row) MouseUp(*desktop.MouseEvent) {
	if r.holding != nil {
		r.holding.Stop()
		r.holding = nil
	}
}

// hold gives the cursor back to an entry that lost it to a touch beside it: a
// key of the keypad types only where leaving is noticed.
func (r *Row) hold() bool {
	if r.note != nil {
		r.note.focus()
		return false
	}
	if r.entry == nil {
		return false
	}
	if c := fyne.CurrentApp().Driver().CanvasForObject(r); c != nil && !r.focused {
		c.Focus(r.entry)
	}
	return true
}

// Type puts one character where the cursor is.
func (r *Row) Type(c rune) {
	if r.hold() {
		r.entry.Entry.TypedRune(c)
	} else if r.note != nil {
		r.note.TypedRune(c)
	}
}

// Rub removes the character before the cursor.
func (r *Row) Rub() {
	back := &fyne.KeyEvent{Name: fyne.KeyBackspace}
	if r.hold() {
		r.entry.TypedKey(back)
	} else if r.note != nil {
		r.note.TypedKey(back)
	}
}

// Wipe empties the entry; the record keeps what was committed as history.
func (r *Row) Wipe() {
	if r.hold() {
		r.entry.unmark()
		r.entry.SetText("")
	}
}

// unmark ends the marking of what stands there: the toolkit's entry would keep
// it over a new text, and the next character typed would go astray.
func (e *entry) unmark() { e.Entry.TypedKey(&fyne.KeyEvent{Name: fyne.KeyEnd}) }

// Sign turns the number's sign.
func (r *Row) Sign() {
	if !r.hold() {
		return
	}
	r.entry.unmark()
	t := strings.TrimSpace(r.entry.Text)
	if strings.HasPrefix(t, "-") {
		t = t[1:]
	} else {
		t = "-" + t
	}
	r.entry.SetText(t)
	r.entry.CursorColumn = len([]rune(t))
	r.entry.Refresh()
}

// rowShape is where a row's parts go.
type rowShape struct {
	above                                                                                                        bool
	labelW, labelY, labelH, noteH, x, y, w, h, unitW, wordW, belowY, belowX, belowW, meansY, height, room, formY float32
}

func (r *Row) shape(w float32) rowShape {
	var g rowShape
	f := r.Field
	g.h = theme.Touch
	if f.Kind == NoteField {
		g.h = r.note.HeightFor(w)
	}
	long := f.Kind == TextField && measureSaid(r.stands, theme.Text, fyne.TextStyle{})+entryPad > w-fyne.Min(w*0.44, 240)-10
	if r.list != nil { // by the longest, so that choosing moves nothing
		for _, s := range r.says() {
			long = long || measure(s, theme.Text, fyne.TextStyle{})+56 > w-fyne.Min(w*0.44, 240)-10
		}
	}
	beside := w - fyne.Min(w*0.44, 240) - 10
	above := long || f.Kind == NoteField || w < 330 || (r.list != nil && w < 420) || (r.pick != nil && w < 560 && len(r.pick.rows(beside)) > 1) || (r.wordTap != nil && w < 520)
	if above {
		g.labelW = w
		if r.Note != "" && r.quiet.Width()+r.label.Width()+16 < w {
			g.noteH = r.quiet.line() // beside the label, at its right
		}
		g.labelH = r.label.HeightFor(w)
		g.x, g.y, g.w = 0, g.labelH+3, w
		if r.form != nil {
			g.formY = g.labelH + 1
			g.y = g.formY + r.form.HeightFor(w) + 3
		}
	} else {
		g.labelW = fyne.Min(w*0.44, 240)
		g.labelH = r.label.HeightFor(g.labelW)
		g.x = g.labelW + 10
		g.w = w - g.x
		// The room of what is said below the label is kept, so that nothing moves as it comes.
		room := r.quiet.line()
		if r.quiet.Max = 1; g.labelH < 1.5*r.label.line() {
			r.quiet.Max, room = 2, 2*room
		}
		if r.Note != "" {
			g.noteH = r.quiet.HeightFor(g.labelW)
		}
		g.y = fyne.Max(0, (g.labelH+room-g.h)/2)
		g.labelY = fyne.Max(0, (fyne.Max(g.h, g.labelH+room)-g.labelH-g.noteH)/2)
		g.room = fyne.Max(g.h, g.labelH+room)
	}
	if r.pick != nil {
		g.h = r.pick.HeightFor(g.w)
	}
	if r.unitTap != nil {
		g.unitW = 84
		if f.Kind == DateField {
			g.unitW = 64
		}
		g.w -= g.unitW + 4
	}
	if r.wordTap != nil {
		g.wordW = r.wordTap.MinSize().Width
		g.w -= g.wordW + 4
	}
	y := fyne.Max(g.y+g.h, g.labelY+g.labelH)
	if !above {
		y = fyne.Max(y, g.room)
	}
	g.belowX, g.belowW = g.x, w-g.x
	g.belowY = y + 3
	if r.err != "" {
		y = g.belowY + r.wrong.HeightFor(g.belowW-24) + 2
	}
	if r.means != nil {
		g.meansY = y + 4
		y = g.meansY + r.means.HeightFor(g.belowW)
	}
	g.above = above
	g.height = y
	return g
}

// entryPad is what the toolkit's entry leaves free at its left and right.
const entryPad = 26

// HeightFor implements Tall.
func (r *Row) HeightFor(w float32) float32 { return r.shape(w).height }

// CreateRenderer implements fyne.Widget.
func (r *Row) CreateRenderer() fyne.WidgetRenderer {
	rr := &rowRenderer{r: r, badge: newGlyph(), bar: rect(), frame: rect()}
	rr.Refresh()
	return rr
}

type rowRenderer struct {
	r     *Row
	badge *canvas.Image
	bar   *canvas.Rectangle
	frame *canvas.Rectangle // about a list, which the toolkit leaves without one
}

func (rr *rowRenderer) input() fyne.CanvasObject {
	r := rr.r
	return r.Input()
}

func (rr *rowRenderer) Layout(size fyne.Size) {
	r := rr.r
	if size.Width < 10 {
		return
	}
	g := r.shape(size.Width)
	put(r.label, 0, g.labelY, g.labelW, g.labelH)
	put(rr.input(), g.x, g.y, g.w, g.h)
	if r.veil != nil {
		put(r.veil, g.x, g.y, g.w, g.h)
		put(r.wheel, g.x, g.y, g.w, g.h)
	}
	if r.form != nil {
		put(r.form, 0, g.formY, size.Width, r.form.HeightFor(size.Width))
	}
	if r.wordTap != nil {
		put(r.wordTap, g.x+g.w+4, g.y, g.wordW, theme.Touch)
		g.w += g.wordW + 4
	}
	if r.unitTap != nil {
		put(r.unitTap, g.x+g.w+4, g.y, g.unitW, theme.Touch)
	}
	y := g.belowY
	if r.err != "" {
		h := r.wrong.HeightFor(g.belowW - 24)
		put(rr.badge, g.belowX, y, 18, 18)
		put(r.wrong, g.belowX+24, y, g.belowW-24, h)
	}
	if r.means != nil {
		put(r.means, g.belowX, g.meansY, g.belowW, r.means.HeightFor(g.belowW))
	}
	switch {
	case g.noteH == 0:
		r.quiet.Hide()
	case g.above:
		r.quiet.Show()
		nw := r.quiet.Width() + 1
		put(r.quiet, size.Width-nw, 1, nw, g.noteH)
	default:
		r.quiet.Show()
		put(r.quiet, 0, g.labelY+g.labelH, g.labelW, g.noteH)
	}
	put(rr.bar, -9, g.y, 4, g.h)
	put(rr.frame, g.x-1, g.y-1, g.w+2, g.h+2)
}

func (rr *rowRenderer) MinSize() fyne.Size {
	return fyne.NewSize(200, rr.r.HeightFor(fyne.Max(200, rr.r.Size().Width)))
}

func (rr *rowRenderer) Refresh() {
	setGlyph(rr.badge, "outside", theme.Bad, theme.Panel)
	switch {
	case rr.r.err != "":
		rr.bar.FillColor = theme.Bad.Colour()
	case rr.r.lit:
		rr.bar.FillColor = theme.Accent.Colour()
	default:
		rr.bar.FillColor = color.Transparent
	}
	// Filled with the paper: the toolkit's mark of a list with the cursor lets what is below through.
	rr.frame.FillColor, rr.frame.StrokeColor, rr.frame.StrokeWidth, rr.frame.CornerRadius = theme.Input.Colour(), theme.Frame.Colour(), 1, 4
	rr.Layout(rr.r.Size())
	rr.r.label.Refresh()
	rr.r.wrong.Refresh()
	rr.r.quiet.Refresh()
	canvas.Refresh(rr.r)
}

func (rr *rowRenderer) Objects() []fyne.CanvasObject {
	os := []fyne.CanvasObject{rr.bar, rr.r.label}
	if rr.r.list != nil {
		os = append(os, rr.frame)
	}
	os = append(os, rr.input())
	switch {
	case rr.r.veil == nil || rr.r.Page == nil:
	case rr.r.focused:
		os = append(os, rr.r.wheel)
	default:
		os = append(os, rr.r.veil)
	}
	if rr.r.form != nil {
		os = append(os, rr.r.form)
	}
	if rr.r.wordTap != nil {
		os = append(os, rr.r.wordTap)
	}
	if rr.r.unitTap != nil {
		os = append(os, rr.r.unitTap)
	}
	if rr.r.err != "" {
		os = append(os, rr.badge, rr.r.wrong)
	}
	if rr.r.means != nil {
		os = append(os, rr.r.means)
	}
	if rr.r.Note != "" {
		os = append(os, rr.r.quiet)
	}
	return os
}
func (rr *rowRenderer) Destroy() {}

// entry is the toolkit's entry that hands Tab and Enter to its row and commits
// when it loses the focus.
type entry struct {
	widget.Entry
	row   *Row
	shift bool
}

// veil lies over an entry that has not the cursor, and is not seen: a finger that drags
// there moves the page and no field, one that goes up where it came down puts the cursor
// there. The toolkit's entry would take the cursor at once and mark its text by a drag.
type veil struct {
	widget.BaseWidget
	row *Row
}

func newVeil(r *Row) *veil {
	v := &veil{row: r}
	v.ExtendBaseWidget(v)
	return v
}

// Tapped implements fyne.Tappable.
func (v *veil) Tapped(*fyne.PointEvent) {
	if v.row.past {
		v.row.past = false
		return
	}
	v.row.Focus()
}

// MouseDown implements desktop.Mouseable: held, it tells what stood there before.
func (v *veil) MouseDown(e *desktop.MouseEvent) { v.row.MouseDown(e) }

// MouseUp implements desktop.Mouseable.
func (v *veil) MouseUp(e *desktop.MouseEvent) { v.row.MouseUp(e) }

// Cursor implements desktop.Cursorable.
func (v *veil) Cursor() desktop.Cursor { return desktop.TextCursor }

// Dragged implements fyne.Draggable.
func (v *veil) Dragged(e *fyne.DragEvent) {
	if v.row.Page != nil {
		if p := v.row.Page(); p != nil {
			p.sheet.Dragged(e)
		}
	}
}

// Scrolled implements fyne.Scrollable.
func (v *veil) Scrolled(e *fyne.ScrollEvent) { v.row.turn(e) }

// turn moves the page: the toolkit's entry would keep the wheel to itself.
func (r *Row) turn(e *fyne.ScrollEvent) {
	if r.Page != nil {
		if p := r.Page(); p != nil {
			p.Wheel(e)
		}
	}
}

// wheel lies over an entry that has the cursor and takes the wheel alone.
type wheel struct {
	widget.BaseWidget
	row *Row
}

func newWheel(r *Row) *wheel {
	w := &wheel{row: r}
	w.ExtendBaseWidget(w)
	return w
}

// Scrolled implements fyne.Scrollable.
func (w *wheel) Scrolled(e *fyne.ScrollEvent) { w.row.turn(e) }

// CreateRenderer implements fyne.Widget.
func (w *wheel) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(canvas.NewRectangle(color.Transparent))
}

// DragEnd implements fyne.Draggable.
func (v *veil) DragEnd() {}

// CreateRenderer implements fyne.Widget.
func (v *veil) CreateRenderer() fyne.WidgetRenderer {
	return widget.NewSimpleRenderer(canvas.NewRectangle(color.Transparent))
}

func newEntry(r *Row) *entry {
	e := &entry{row: r}
	e.Wrapping = fyne.TextWrapOff
	e.Scroll = fyne.ScrollHorizontalOnly
	e.ExtendBaseWidget(e)
	e.OnChanged = func(t string) {
		if r.focused && r.OnTyping != nil {
			r.OnTyping(r, strings.TrimSpace(t), r.Field.Unit)
		}
	}
	return e
}

// AcceptsTab implements fyne.Tabbable: the order of the fields is ours.
func (e *entry) AcceptsTab() bool { return true }

func (e *entry) KeyDown(k *fyne.KeyEvent) {
	if k.Name == desktop.KeyShiftLeft || k.Name == desktop.KeyShiftRight {
		e.shift = true
	}
	e.Entry.KeyDown(k)
}

func (e *entry) KeyUp(k *fyne.KeyEvent) {
	if k.Name == desktop.KeyShiftLeft || k.Name == desktop.KeyShiftRight {
		e.shift = false
	}
	e.Entry.KeyUp(k)
}

// TypedRune implements fyne.Focusable: what a keyboard types.
func (e *entry) TypedRune(c rune) {
	e.Entry.TypedRune(c)
	if e.row.OnKeys != nil {
		e.row.OnKeys(e.row)
	}
}

func (e *entry) TypedKey(k *fyne.KeyEvent) {
	if k.Name == fyne.KeyTab || k.Name == fyne.KeyReturn || k.Name == fyne.KeyEnter {
		switch {
		case e.shift && e.row.OnMove != nil:
			e.row.OnMove(e.row, -1)
		case k.Name == fyne.KeyTab && e.row.OnMove != nil:
			e.row.OnMove(e.row, 1)
		default:
			e.row.End()
		}
		return
	}
	e.Entry.TypedKey(k)
}

func (e *entry) FocusGained() {
	e.row.focused = true
	e.Entry.FocusGained()
	e.row.light(true)
}

func (e *entry) FocusLost() {
	e.shift = false
	e.Entry.FocusLost()
	e.row.left()
	e.row.light(false)
}

// left hands over what stands in the entry and then shows it as it was understood.
func (r *Row) left() {
	r.focused = false
	r.Commit()
	if l := r.late; l != nil && !r.pending() {
		r.set(l[0], l[1])
	}
}

// Input is the thing typed into or chosen from.
func (r *Row) Input() fyne.CanvasObject {
	switch {
	case r.note != nil:
		return r.note
	case r.entry != nil:
		return r.entry
	case r.pick != nil:
		return r.pick
	}
	return r.list
}
