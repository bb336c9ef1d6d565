package app

import (
	"slices"

	"fyne.io/fyne/v2"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/app/words"
	"retrostage/assets"
	"retrostage/reports/record"
)

// helpPages are the pages in their order, beside those of the steps.
var helpPages = []struct{ name, title string }{
	{"start", "How it is meant"}, {"demo", "Five minutes with the demo job"}, {"glossary", "Words"},
}

// helpText is a page of help, as it lies in assets/help; in another language it lies with
// the words of that.
func helpText(name string) (string, error) {
	if l := words.Shown(); l != words.English {
		if b, err := assets.FS.ReadFile("words/" + l + "/" + name + ".md"); err == nil {
			return string(b), nil
		}
	}
	b, err := assets.FS.ReadFile("help/" + name + ".md")
	return string(b), err
}

// Help shows a page of help; "" is that of the step on show.
func (b *Bench) Help(name string) {
	if name == "" {
		name = string(b.step().Step)
	}
	b.pageSheet(820, 760, func(shut func()) (fyne.CanvasObject, func()) {
		said := widget.NewPage("")
		col := widget.NewColumn(8, 14)
		page := widget.NewScroller(col)
		var open func(name string)
		var taps []*widget.Tap
		names := []string{}
		demo := widget.NewTap("Open the demo job", func() {
			shut()
			b.demoJob(nil)
		})
		open = func(name string) {
			text, err := helpText(name)
			if err != nil {
				text = words.Say("This page cannot be read: " + err.Error())
			}
			said.Set(text)
			for i, t := range taps {
				t.Set(t.Text, names[i] == name)
			}
			demo.Hide()
			if name == "demo" && b.keep.jobs != nil {
				demo.Show()
			}
			page.Reflow()
			page.Top()
		}
		col.Add(said)
		col.Add(demo)
		col.Add(widget.NewHeading("Other pages"))
		add := func(name, title string) {
			t := widget.NewTap(title, func() { open(name) })
			names, taps = append(names, name), append(taps, t)
			col.Add(t)
		}
		add(helpPages[0].name, helpPages[0].title)
		for _, s := range record.Steps {
			add(string(s.Step), s.Title)
		}
		for _, p := range helpPages[1:] {
			add(p.name, p.title)
		}
		col.Add(widget.NewWords("Nothing here replaces training. Local code, the equipment's instructions and licensed practice decide.", theme.Small, false, theme.Muted))
		open(name)
		return page, nil
	})
}

// demoJob brings the demo job to the bench, as a job of its own, and then does what is asked.
func (b *Bench) demoJob(then func()) {
	k := b.keep
	if k.jobs == nil {
		return
	}
	b.saving.Ask(func() func() {
		b.waiting.write() // what fails is held, and said when the job is on the bench
		o, err := k.demo()
		return func() {
			if err != nil {
				b.note = "The demo job is not opened: " + err.Error()
				b.window.paintBar()
				return
			}
			b.put(o)
			if then != nil {
				then()
			}
		}
	})
}

// demo is the demo job of the store; the first time it comes from the program.
func (k jobStore) demo() (opening, error) {
	j, err := record.Demo()
	if err != nil {
		return opening{}, err
	}
	ids, err := k.jobs.Jobs()
	if err != nil {
		return opening{}, err
	}
	if slices.Contains(ids, j.ID) {
		return k.load(j.ID)
	}
	return opening{keep: k, job: j, readOnly: k.jobs.Writable(), fresh: true}, nil
}
