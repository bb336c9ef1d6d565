package widget

import (
	"slices"
	"testing"

	"fyne.io/fyne/v2"
	"pgregory.net/rapid"

	"retrostage/app/theme"
)

// Whatever is typed, the lines are those of the whole text broken from scratch, and
// what is drawn is what they say.
func TestNoteBreaksAsFromScratch(t *testing.T) {
	fyne.CurrentApp().Settings().SetTheme(theme.Theme{Palette: theme.Light})
	rapid.Check(t, func(t *rapid.T) {
		n := newNote(&Row{})
		n.CreateRenderer()
		n.seen.Layout(fyne.NewSize(rapid.Float32Range(60, 400).Draw(t, "width"), 100))
		want := ""
		for range rapid.IntRange(1, 12).Draw(t, "edits") {
			runes := []rune(want)
			a := rapid.IntRange(0, len(runes)).Draw(t, "from")
			b := min(len(runes), a+rapid.SampledFrom([]int{0, 0, 0, 1, 3, 40}).Draw(t, "less"))
			text := rapid.StringOfN(rapid.RuneFrom([]rune("aiW  \né")), 0, 60, -1).Draw(t, "text")
			n.change(a, b, []rune(text))
			want = string(runes[:a]) + text + string(runes[b:])
			if n.Text() != want {
				t.Fatalf("it holds %q, want %q", n.Text(), want)
			}
			if scratch := n.broken(n.width); !slices.Equal(n.begins, scratch) {
				t.Fatalf("lines begin at %v, from scratch at %v, of %q", n.begins, scratch, want)
			}
			if len(n.seen.lines) != len(n.begins) {
				t.Fatalf("%d lines are drawn of %d", len(n.seen.lines), len(n.begins))
			}
			for i, l := range n.seen.lines {
				if l.Text != n.lineText(i) {
					t.Fatalf("line %d is drawn as %q and is %q", i, l.Text, n.lineText(i))
				}
			}
		}
	})
}

func TestNoteEdits(t *testing.T) {
	n := newNote(&Row{})
	n.CreateRenderer()
	n.seen.Layout(fyne.NewSize(300, 100))
	key := func(names ...fyne.KeyName) {
		for _, k := range names {
			n.TypedKey(&fyne.KeyEvent{Name: k})
		}
	}
	for _, r := range "one two" {
		n.TypedRune(r)
	}
	key(fyne.KeyReturn)
	for _, r := range "three" {
		n.TypedRune(r)
	}
	key(fyne.KeyUp, fyne.KeyEnd, fyne.KeyBackspace)
	n.TypedRune('O')
	if n.Text() != "one twO\nthree" {
		t.Fatalf("%q", n.Text())
	}
	key(fyne.KeyHome, fyne.KeyDelete, fyne.KeyDown)
	n.TypedRune('-')
	if n.Text() != "ne twO\n-three" {
		t.Fatalf("%q", n.Text())
	}
	n.TypedShortcut(&fyne.ShortcutSelectAll{})
	n.TypedRune('x')
	if n.Text() != "x" {
		t.Fatalf("%q", n.Text())
	}
	n.TypedShortcut(&fyne.ShortcutUndo{})
	if n.Text() != "ne twO\n-three" {
		t.Errorf("undone: %q", n.Text())
	}
	n.KeyDown(&fyne.KeyEvent{Name: "LeftShift"})
	key(fyne.KeyHome)
	n.KeyUp(&fyne.KeyEvent{Name: "LeftShift"})
	key(fyne.KeyBackspace)
	if n.Text() != "ne twO\n" {
		t.Errorf("marked and removed: %q", n.Text())
	}
}
