package section

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/record"
	"retrostage/thermo/fluid"
	"retrostage/thermo/units"
)

// fluidWords is what has to be known of the refrigerant before a valve is opened;
// the sources are in the small print.
type fluidWords struct {
	lines, small []string
	flammable    bool
}

// fluidCautions says in full, below the entries where it moves none, what has to be known
// of the refrigerant before a valve is opened; its row says it in brief.
func fluidCautions(p *Pane) *Section {
	n := widget.NewNotice("caution", theme.Warning, nil, nil)
	n.OnResize = p.reflow
	n.Hide()
	system := p.System()
	return newSection("refrigerant", []fyne.CanvasObject{n}, Input.entered,
		func(_ context.Context, in Input) fluidWords { return wordsOf(in.Job.Text(record.Refrigerant), system) },
		func(w fluidWords) {
			if slices.Equal(w.lines, n.Lines) {
				return
			}
			n.Shape, n.Tone = "unjudged", theme.Muted
			if w.flammable {
				n.Shape, n.Tone = "caution", theme.Warning
			}
			n.Lines, n.Small = w.lines, w.small
			show(n, w.lines != nil)
			n.Refresh()
			p.reflow()
		})
}

func wordsOf(refrigerant string, system units.System) (w fluidWords) {
	f, err := fluid.Get(refrigerant)
	if err != nil {
		return w
	}
	i := f.Info()
	head := fmt.Sprintf("%s: %s, %s oil", i.Name, i.Class, strings.Join(i.Oils, " or "))
	d := units.Preferred(units.TempDiff, system)
	if glide := fmt.Sprintf("%.1f", d.Span(i.Glide)); glide != "0.0" {
		head += fmt.Sprintf(", glides %s %s at one atmosphere", glide, d.Label)
	}
	w.lines, w.small = []string{head + "."}, []string{noteSource(i.ClassNote) + "; " + noteSource(i.OilNote)}
	if w.flammable = i.Flammable; i.Flammable {
		w.lines, w.small = append(w.lines, i.Caution.Text), append(w.small, noteSource(i.Caution))
	}
	for _, n := range i.Restrictions {
		w.small[0] += ". " + strings.TrimSuffix(n.Text, ".") + ": " + noteSource(n)
	}
	return w
}

// fluidBriefs says of each refrigerant of a list what matters before a valve is
// opened.
func fluidBriefs(names []string) []string {
	out := slices.Clone(names)
	for i, n := range names {
		if r, err := fluid.Get(n); err == nil {
			out[i] = r.Data().Brief()
		}
	}
	return out
}

var noteMarks = map[string]string{"S": "read in it", "S2": "read in a page that restates it", "M": "from memory", "P": "common practice, no source"}

func noteSource(n fluid.Note) string {
	t := n.Source
	if m := noteMarks[n.Mark]; m != "" && !strings.Contains(t, m) {
		t += " (" + m + ")"
	}
	return t
}
