package app

import (
	"slices"
	"testing"

	"fyne.io/fyne/v2"

	"retrostage/app/widget"
	"retrostage/reports/record"
)

// lies tells whether two things overlap in the window by more than a line's breadth.
func lies(a, b fyne.CanvasObject) bool {
	p, z, q, y := place(a), a.Size(), place(b), b.Size()
	return p.X+2 < q.X+y.Width && q.X+2 < p.X+z.Width && p.Y+2 < q.Y+y.Height && q.Y+2 < p.Y+z.Height
}

// The keys of an entry that can be meant in two ways lie over no field, are to be seen and
// touched, and the field that follows stays where the finger expects it.
func TestTheKeysOfAQuestionAreInReach(t *testing.T) {
	for _, size := range sizes {
		for _, c := range []struct {
			key          record.Key
			typed, takes string
		}{{record.RatedVoltage, "208/230", "230 V"}, {record.OldInsulation, "2,100", "2,100 MΩ"}, {record.SignedDate, "3/4/2026", "3 April 2026"}} {
			b, w := bench(t, record.New("j"))
			b.SetPerson("T-31")
			w.Resize(size)
			b.Go(stepIndex(c.key.Field().Step))
			b.Enter(record.OwnerRef, "R-1", "", "")
			r := find(t, b, c.key)
			r.Focus()
			typeIn(t, w, c.typed)
			var next *widget.Row
			for i, q := range b.pane().Rows {
				if q == r {
					for _, n := range b.pane().Rows[i+1:] {
						if n.Visible() && next == nil && place(n).X == place(r).X {
							next = n
						}
					}
				}
			}
			var before fyne.Position
			if next != nil {
				before = place(next)
			}
			r.Commit() // as a touch beside it does
			if next != nil {
				if d := place(next).Y - before.Y; d > 24 || d < -24 {
					t.Errorf("%v: the question of %s moved %s by %.0f", size, c.typed, next.Field.Key, d)
				}
			}
			press(t, w, fyne.KeyReturn)
			m := r.Meanings()
			if m == nil {
				t.Fatalf("%v: %s is not asked about", size, c.typed)
			}
			for _, q := range b.pane().Rows {
				if q.Visible() && q != r && lies(m, q) {
					t.Errorf("%v: the keys of %s lie over %s", size, c.typed, q.Field.Key)
				}
			}
			side := b.pane().Side
			if y := place(m).Y; y < place(side).Y || y+m.Size().Height > place(side).Y+side.Size().Height {
				t.Errorf("%v: the keys of %s are out of sight", size, c.typed)
			}
			g := &glass{t: t, w: w}
			k := tap(m, c.takes)
			if k == nil {
				t.Fatalf("%v: no key %s of %v", size, c.takes, m.Options)
			}
			g.touch(k)
			if b.job.Text(c.key) == "" || r.Meanings() != nil {
				t.Errorf("%v: touched %s, entered %q", size, c.takes, b.job.Text(c.key))
			}
		}
	}
}

// What is refused, and said so below its entry, moves the next one no more than a note does.
func TestARefusalMovesNotTheNext(t *testing.T) {
	for _, size := range sizes {
		for _, key := range []record.Key{record.RatedVoltage, record.CauseSupply, record.CostLike} {
			b, w := bench(t, record.New("j"))
			b.SetPerson("T-31")
			w.Resize(size)
			b.Go(stepIndex(key.Field().Step))
			b.Enter(record.OwnerRef, "R-1", "", "")
			rows := b.pane().Rows
			r := find(t, b, key)
			r.Focus()
			typeIn(t, w, "99999999")
			var next *widget.Row
			for i := slices.Index(rows, r) + 1; i < len(rows) && next == nil; i++ {
				if rows[i].Visible() && place(rows[i]).X == place(r).X {
					next = rows[i]
				}
			}
			before := place(next)
			r.Commit()
			if r.Wrong() == "" {
				t.Fatalf("%s took 99999999", key)
			}
			if d := place(next).Y - before.Y; d > 24 || d < -24 {
				t.Errorf("%v: the refusal at %s moved %s by %.0f", size, key, next.Field.Key, d)
			}
		}
	}
}
