package widget

import (
	"image/color"
	"sort"
	"strings"
	"unicode"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
)

// note is a field of several lines, as tall as what stands in it: the page scrolls,
// not the note. The toolkit's own entry breaks and draws all of its text at each
// key, which takes seconds where the text is long; here a key costs the lines that
// it changes.
type note struct {
	widget.BaseWidget
	steps
	text    []rune
	begins  []int   // where each line begins; the first at 0
	width   float32 // at which they were broken
	at      int     // the cursor
	mark    int     // the other end of what is marked; at the cursor, nothing is
	column  float32 // where up and down want to be, negative where the cursor is
	focused bool
	undo    []noteBefore
	seen    *noteRenderer
}

// noteBefore is a note before a change.
type noteBefore struct {
	text string
	at   int
}

const (
	notePad    = 10
	noteUndos  = 50
	noteHeight = 92
)

func newNote(r *Row) *note {
	n := &note{steps: steps{row: r}, begins: []int{0}, column: -1}
	n.ExtendBaseWidget(n)
	return n
}

func noteLine() float32 { return lineHeight(theme.Text) + 2 }

// Text is what stands in the note.
func (n *note) Text() string { return string(n.text) }

// SetText puts another text in the place of what stands there.
func (n *note) SetText(t string) {
	n.text, n.at, n.mark, n.column, n.undo = []rune(t), 0, 0, -1, nil
	n.begins = n.broken(n.width)
	n.repaint(0, len(n.begins), len(n.begins))
}

// HeightFor implements Tall.
func (n *note) HeightFor(w float32) float32 {
	lines := len(n.begins)
	if w != n.width {
		lines = len(n.broken(w))
	}
	return fyne.Max(noteHeight, float32(lines)*noteLine()+2*notePad)
}

// broken is where lines begin at a width.
func (n *note) broken(w float32) []int {
	out := []int{0}
	measured.Lock()
	defer measured.Unlock()
	fresh()
	for at := 0; ; {
		next, more := n.lineEnd(at, w)
		if !more {
			return out
		}
		out = append(out, next)
		at = next
	}
}

// lineEnd is where the line after the one that begins at from begins; more is false
// at the last. Called with measured held.
func (n *note) lineEnd(from int, w float32) (next int, more bool) {
	room := fyne.Max(w-2*notePad, 40) / sizeOf(setting{theme.Text, false}).Width
	known := measured.advances[0]
	var long float32
	space := -1
	for i := from; i < len(n.text); i++ {
		r := n.text[i]
		if r == '\n' {
			return i + 1, true
		}
		a, ok := known[r]
		if !ok {
			a = ems(string(r), false)
		}
		long += a
		if unicode.IsSpace(r) {
			space = i // one at the end of a line may stand over
			continue
		}
		if long > room && i > from {
			if space >= from {
				return space + 1, true
			}
			return i, true
		}
	}
	return len(n.text), false
}

// lineOf is the line in which a place is.
func (n *note) lineOf(at int) int {
	return sort.Search(len(n.begins), func(i int) bool { return n.begins[i] > at }) - 1
}

// lineText is line i as it is drawn.
func (n *note) lineText(i int) string {
	end := len(n.text)
	if i+1 < len(n.begins) {
		end = n.begins[i+1]
	}
	return strings.TrimRight(strings.ReplaceAll(string(n.text[n.begins[i]:end]), "\t", " "), "\n")
}

// change puts text in the place of what stands from a to b. Lines before are left;
// those after too, from the first that begins where one began before.
func (n *note) change(a, b int, text []rune) {
	if last := len(n.undo) - 1; last < 0 || len(text) != 1 || b != a || unicode.IsSpace(text[0]) {
		n.undo = append(n.undo, noteBefore{string(n.text), n.at})
		if len(n.undo) > noteUndos {
			n.undo = n.undo[1:]
		}
	}
	n.splice(a, b, text)
}

func (n *note) splice(a, b int, text []rune) {
	delta := len(text) - (b - a)
	now := make([]rune, 0, len(n.text)+delta)
	now = append(append(append(now, n.text[:a]...), text...), n.text[b:]...)
	first := max(0, n.lineOf(a)-1) // a shorter word may go back to the line before
	old := n.begins
	n.text = now
	begins := append([]int{}, old[:first+1]...)
	rest := sort.SearchInts(old, b+1) // the first that may be kept
	measured.Lock()
	fresh()
	for at := begins[first]; ; {
		next, more := n.lineEnd(at, n.width)
		if !more {
			rest = len(old)
			break
		}
		for rest < len(old) && old[rest]+delta < next {
			rest++
		}
		if rest < len(old) && old[rest]+delta == next && next > a+len(text) {
			break
		}
		begins = append(begins, next)
		at = next
	}
	measured.Unlock()
	upto := len(begins)
	for _, o := range old[rest:] {
		begins = append(begins, o+delta)
	}
	n.begins = begins
	n.at = a + len(text)
	n.mark, n.column = n.at, -1
	n.repaint(first, rest, upto)
	if len(old) != len(begins) && n.row.OnResize != nil {
		n.row.OnResize()
	}
	n.reveal()
	n.row.typed()
}

// marked is what is marked, from a to b.
func (n *note) marked() (a, b int) { return min(n.at, n.mark), max(n.at, n.mark) }

// put puts text in the place of what is marked.
func (n *note) put(text string) {
	a, b := n.marked()
	n.change(a, b, []rune(strings.ReplaceAll(strings.ReplaceAll(text, "\r\n", "\n"), "\r", "\n")))
}

// goTo moves the cursor; with Shift the mark stays.
func (n *note) goTo(at int) {
	n.at = max(0, min(len(n.text), at))
	if !n.shift {
		n.mark = n.at
	}
	n.column = -1
	n.paintCursor()
	n.reveal()
}

// x is how far right a place is in its line.
func (n *note) x(at int) float32 {
	return measureSaid(string(n.text[n.begins[n.lineOf(at)]:at]), theme.Text, fyne.TextStyle{})
}

// nearest is the place of line i nearest to x.
func (n *note) nearest(i int, x float32) int {
	i = max(0, min(len(n.begins)-1, i))
	from, end := n.begins[i], len(n.text)
	if i+1 < len(n.begins) {
		end = n.begins[i+1] - 1
	}
	measured.Lock()
	defer measured.Unlock()
	fresh()
	var long float32
	for at := from; at < end; at++ {
		w := length(string(n.text[at]), theme.Text, false)
		if long+w/2 > x {
			return at
		}
		long += w
	}
	return end
}

func (n *note) vertical(by int) {
	x := n.column
	if x < 0 {
		x = n.x(n.at)
	}
	i := n.lineOf(n.at) + by
	switch {
	case i < 0:
		n.goTo(0)
	case i >= len(n.begins):
		n.goTo(len(n.text))
	default:
		n.goTo(n.nearest(i, x))
	}
	n.column = x
}

// TypedRune implements fyne.Focusable.
func (n *note) TypedRune(r rune) { n.put(string(r)) }

// TypedKey implements fyne.Focusable.
func (n *note) TypedKey(k *fyne.KeyEvent) {
	a, b := n.marked()
	line := n.lineOf(n.at)
	switch k.Name {
	case fyne.KeyTab: // Enter is a line
		n.step()
	case fyne.KeyReturn, fyne.KeyEnter:
		n.put("\n")
	case fyne.KeyBackspace:
		if a == b && a > 0 {
			a--
		}
		if a < b {
			n.change(a, b, nil)
		}
	case fyne.KeyDelete:
		if a == b && b < len(n.text) {
			b++
		}
		if a < b {
			n.change(a, b, nil)
		}
	case fyne.KeyLeft:
		n.goTo(n.at - 1)
	case fyne.KeyRight:
		n.goTo(n.at + 1)
	case fyne.KeyUp:
		n.vertical(-1)
	case fyne.KeyDown:
		n.vertical(1)
	case fyne.KeyHome:
		n.goTo(n.begins[line])
	case fyne.KeyEnd:
		if line+1 < len(n.begins) {
			n.goTo(n.begins[line+1] - 1)
		} else {
			n.goTo(len(n.text))
		}
	}
}

// TypedShortcut implements fyne.Shortcutable.
func (n *note) TypedShortcut(s fyne.Shortcut) {
	a, b := n.marked()
	switch s := s.(type) {
	case *fyne.ShortcutSelectAll:
		n.mark, n.at = 0, len(n.text)
		n.paintCursor()
	case *fyne.ShortcutCopy:
		if a < b {
			s.Clipboard.SetContent(string(n.text[a:b]))
		}
	case *fyne.ShortcutCut:
		if a < b {
			s.Clipboard.SetContent(string(n.text[a:b]))
			n.change(a, b, nil)
		}
	case *fyne.ShortcutPaste:
		n.put(s.Clipboard.Content())
	case *desktop.CustomShortcut: // Enter is a line; with Control it ends the note
		if (s.KeyName == fyne.KeyReturn || s.KeyName == fyne.KeyEnter) && s.Modifier == fyne.KeyModifierControl {
			n.row.End()
		}
	case *fyne.ShortcutUndo:
		if i := len(n.undo) - 1; i >= 0 {
			was := n.undo[i]
			n.undo = n.undo[:i]
			n.splice(0, len(n.text), []rune(was.text))
			n.shift = false
			n.goTo(was.at)
		}
	}
}

// FocusGained implements fyne.Focusable.
func (n *note) FocusGained() {
	n.focused, n.row.focused = true, true
	n.paintCursor()
	n.row.light(true)
}

// FocusLost implements fyne.Focusable.
func (n *note) FocusLost() {
	n.focused, n.shift = false, false
	n.mark = n.at
	n.paintCursor()
	n.row.left()
	n.row.light(false)
}

// MouseDown implements desktop.Mouseable: the cursor goes where the finger is.
func (n *note) MouseDown(e *desktop.MouseEvent) {
	n.touch(e.Position, e.Modifier&fyne.KeyModifierShift != 0)
}

// MouseUp implements desktop.Mouseable.
func (n *note) MouseUp(*desktop.MouseEvent) {}

// Tapped implements fyne.Tappable.
func (n *note) Tapped(*fyne.PointEvent) { n.focus() }

// Cursor implements desktop.Cursorable.
func (n *note) Cursor() desktop.Cursor { return desktop.TextCursor }

func (n *note) focus() {
	if c := fyne.CurrentApp().Driver().CanvasForObject(n); c != nil && c.Focused() != n {
		c.Focus(n)
	}
}

func (n *note) touch(p fyne.Position, extend bool) {
	n.focus()
	was := n.shift
	n.shift = extend
	n.goTo(n.nearest(int((p.Y-notePad)/noteLine()), p.X-notePad))
	n.shift = was
}

// reveal keeps the cursor in sight.
func (n *note) reveal() {
	if n.row.OnCursor != nil && n.focused {
		y := notePad + float32(n.lineOf(n.at))*noteLine()
		n.row.OnCursor(n.row, n.Position().Y+y, noteLine())
	}
}

func (n *note) repaint(first, rest, upto int) {
	if n.seen != nil {
		n.seen.lay(first, rest, upto)
	}
}

func (n *note) paintCursor() {
	if n.seen != nil {
		n.seen.cursors()
	}
}

// CreateRenderer implements fyne.Widget.
func (n *note) CreateRenderer() fyne.WidgetRenderer {
	r := &noteRenderer{n: n, ground: rect(), cursor: rect()}
	n.seen = r
	r.Refresh()
	return r
}

// noteRenderer keeps an object for each line: one that stays the same is only moved.
type noteRenderer struct {
	n              *note
	ground, cursor *canvas.Rectangle
	lines          []*canvas.Text
	marks          []*canvas.Rectangle
	objects        []fyne.CanvasObject
}

func (r *noteRenderer) style(t *canvas.Text, text string) {
	t.Text, t.TextSize, t.Color = text, theme.Text, theme.Ink.Colour()
}

// lay draws the lines from first to upto anew; those that stood from rest on follow
// them.
func (r *noteRenderer) lay(first, rest, upto int) {
	n := r.n
	kept := append([]*canvas.Text{}, r.lines[min(rest, len(r.lines)):]...)
	spare := append([]*canvas.Text{}, r.lines[min(first, len(r.lines)):min(rest, len(r.lines))]...)
	r.lines = r.lines[:min(first, len(r.lines))]
	for i := len(r.lines); i < upto; i++ {
		t := canvas.NewText("", color.Black)
		if len(spare) > 0 {
			t, spare = spare[0], spare[1:]
		}
		if text := n.lineText(i); text != t.Text || t.TextSize != theme.Text {
			r.style(t, text)
			t.Refresh()
		}
		r.lines = append(r.lines, t)
	}
	r.lines = append(r.lines, kept...)
	for i := len(r.lines); i < len(n.begins); i++ {
		t := canvas.NewText("", color.Black)
		r.style(t, n.lineText(i))
		r.lines = append(r.lines, t)
	}
	r.lines = r.lines[:len(n.begins)]
	h := letterHeight(theme.Text, false)
	for i, t := range r.lines {
		at, size := fyne.NewPos(notePad, whole(notePad+float32(i)*noteLine()+(noteLine()-h)/2)), fyne.NewSize(n.width-2*notePad, h)
		if t.Position() != at {
			t.Move(at)
		}
		if t.Size() != size {
			t.Resize(size)
		}
	}
	r.cursors()
}

// cursors places the cursor and the marks.
func (r *noteRenderer) cursors() {
	n := r.n
	place := func(i int) float32 { return notePad + float32(i)*noteLine() }
	put(r.cursor, notePad+n.x(n.at)-1, place(n.lineOf(n.at)), 2, noteLine())
	r.cursor.FillColor = color.Transparent
	r.ground.FillColor, r.ground.CornerRadius = theme.Input.Colour(), 4
	r.ground.StrokeColor, r.ground.StrokeWidth = theme.Frame.Colour(), 1
	if n.focused {
		r.cursor.FillColor = theme.Accent.Colour()
		r.ground.StrokeColor, r.ground.StrokeWidth = theme.Accent.Colour(), 2
	}
	used := 0
	if a, b := n.marked(); a < b {
		for i := n.lineOf(a); i <= n.lineOf(b); i++ {
			if used == len(r.marks) {
				r.marks = append(r.marks, rect())
			}
			m := r.marks[used]
			used++
			from, to := n.x(max(a, n.begins[i])), measureSaid(n.lineText(i), theme.Text, fyne.TextStyle{})
			if i == n.lineOf(b) {
				to = n.x(b)
			}
			m.FillColor = theme.Chosen.Colour()
			put(m, notePad+from, place(i), fyne.Max(2, to-from), noteLine())
		}
	}
	r.marks = r.marks[:used]
	r.objects = append(r.objects[:0], r.ground)
	for _, m := range r.marks {
		r.objects = append(r.objects, m)
	}
	for _, t := range r.lines {
		r.objects = append(r.objects, t)
	}
	r.objects = append(r.objects, r.cursor)
	r.ground.Refresh()
	r.cursor.Refresh()
}

func (r *noteRenderer) Layout(size fyne.Size) {
	r.ground.Resize(size)
	if n := r.n; size.Width != n.width {
		n.width = size.Width
		n.begins = n.broken(size.Width)
		r.lay(0, len(r.lines), len(n.begins))
	}
}
func (r *noteRenderer) MinSize() fyne.Size { return fyne.NewSize(80, noteHeight) }
func (r *noteRenderer) Refresh() {
	r.ground.Resize(r.n.Size())
	for _, t := range r.lines {
		t.Color = theme.Ink.Colour()
	}
	r.lay(0, len(r.lines), len(r.n.begins))
	canvas.Refresh(r.n)
}
func (r *noteRenderer) Objects() []fyne.CanvasObject { return r.objects }
func (r *noteRenderer) Destroy()                     {}
