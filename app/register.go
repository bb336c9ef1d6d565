package app

import (
	"context"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/section"
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/archive"
	"retrostage/reports/register"
	"retrostage/reports/workbook"
)

// registerPane is the register: a folder of workbooks as one table, what needs a hand
// first.
type registerPane struct {
	b    *Bench
	from *toolkit.Entry
	to   *toolkit.Entry
	widget.StatusLine
	read    *widget.Tap
	write   *widget.Tap
	table   *fyne.Container
	reading widget.Latest
	stop    context.CancelFunc
	made    *register.Register
}

// registerShown is how many files are listed on the screen; the table written to
// disk has them all.
const registerShown = 60

func (b *Bench) openRegister() {
	b.pageSheet(980, 720, func(shut func()) (fyne.CanvasObject, func()) {
		c := b.newRegister()
		return c.Scroll, func() {
			if c.stop != nil {
				c.stop()
			}
			shut()
		}
	})
}

func (b *Bench) newRegister() *registerPane {
	c := &registerPane{b: b, from: toolkit.NewEntry(), to: toolkit.NewEntry(), table: widget.NewColumn(6, 0)}
	c.reading.Now = b.exporting.Now
	dir := filepath.Clean(b.keep.dir)
	c.from.SetText(dir)
	// Beside the folder, not in it: the next reading would take it for a workbook.
	c.to.SetText(dir + "-register.xlsx")
	c.Said = widget.NewWords("", theme.Small+0.5, false, theme.Ink)
	c.read = widget.NewTap("Read the workbooks", c.run)
	c.read.Strong = true
	c.write = widget.NewTap("Write the table", c.save)
	c.write.Hide()
	small := func(t string) fyne.CanvasObject {
		return widget.NewWords(t, theme.Small+0.5, false, theme.Muted)
	}
	c.Scroll = widget.NewScroller(widget.NewColumn(6, 12, widget.NewWords("Register for the clerk", theme.Figure, true, theme.Ink),
		small("Reads every workbook in a folder and in those below it: what is missing for the warranty, what was altered after the export, what waits for a signature."),
		small("Folder of workbooks"), c.from, c.read, c.Said, c.table, small("Table to write: .xlsx or .csv"), c.to, c.write))
	return c
}

// run reads the folder beside the finger; a second touch starts anew.
func (c *registerPane) run() {
	if c.stop != nil {
		c.stop()
	}
	ctx, stop := context.WithCancel(context.Background())
	c.stop = stop
	dir := strings.TrimSpace(c.from.Text)
	c.Say(theme.Muted, "Reading "+dir)
	var tell func(register.Progress)
	if !c.reading.Now {
		tell = func(p register.Progress) {
			if p.Done%20 == 0 {
				fyne.Do(func() { c.Say(theme.Muted, fmt.Sprintf("%d of %d read", p.Done, p.Total)) })
			}
		}
	}
	c.reading.Ask(func() func() {
		reg, err := register.Run(ctx, dir, register.Options{}, tell)
		return func() {
			if err != nil {
				c.Say(theme.Bad, "Not read: "+err.Error())
				return
			}
			c.show(reg)
		}
	})
}

func (c *registerPane) show(reg *register.Register) {
	c.made = reg
	n := map[workbook.State]int{}
	for _, r := range reg.Rows {
		n[r.State]++
	}
	text := fmt.Sprintf("%d files", len(reg.Rows))
	for _, s := range []workbook.State{workbook.Signed, workbook.AsExported, workbook.PartSigned, workbook.Altered, workbook.Damaged} {
		if n[s] > 0 {
			text += fmt.Sprintf("; %d %s", n[s], s)
		}
	}
	if len(reg.Other) > 0 {
		text += fmt.Sprintf("; %d other files", len(reg.Other))
	}
	rows := slices.DeleteFunc(slices.Clone(reg.Rows), func(r register.Row) bool { return r.Folded })
	c.table.RemoveAll()
	if len(rows) > registerShown {
		text += fmt.Sprintf("; the %d that need a hand first are listed here, the table written has all", registerShown)
		rows = rows[:registerShown]
	}
	var out []widget.TableRow
	for _, r := range rows {
		out = append(out, registerRow(r))
	}
	if len(out) > 0 {
		c.table.Add(widget.NewTable([]string{"File", "owner", "visit", "outside", "State"}, out))
		c.write.Show()
	}
	c.Say(theme.Ink, text+".")
}

func registerRow(r register.Row) widget.TableRow {
	out := widget.TableRow{Cells: []string{r.File, r.Owner, r.Visit, "", section.Sentence(string(r.State))}}
	if r.State != workbook.Damaged {
		out.Cells[3] = fmt.Sprint(r.Outside)
	}
	switch r.State {
	case workbook.Signed:
		out.Glyph, out.Tone = "within", theme.Good
	case workbook.Damaged, workbook.Altered:
		out.Glyph, out.Tone = "outside", theme.Bad
	default:
		out.Glyph, out.Tone = "close", theme.Warning
	}
	var small []string
	add := func(head, text string) {
		if text != "" {
			small = append(small, head+text+".")
		}
	}
	add("Not read: ", r.Reason)
	if r.State == workbook.Altered {
		add("", r.Altered())
	}
	add("To do: ", r.Act)
	add("", r.Whom)
	add("In two jobs: ", r.Duplicate)
	add("", r.History)
	if r.Overdue > 0 {
		add("", fmt.Sprintf("Signature overdue by %d days", r.Overdue))
	}
	add("Missing: ", r.Missing)
	if r.Demo {
		add("", "DEMO, invented data")
	}
	out.Small = strings.Join(small, " ")
	return out
}

// save writes the whole table.
func (c *registerPane) save() {
	path := strings.TrimSpace(c.to.Text)
	reg := c.made
	if reg == nil {
		return
	}
	write := reg.WriteXLSX
	switch strings.ToLower(filepath.Ext(path)) {
	case ".csv":
		write = reg.WriteCSV
	case ".xlsx":
	default:
		c.Say(theme.Bad, "Not written: the table ends in .xlsx or .csv.")
		return
	}
	c.Say(theme.Muted, "Writing "+path)
	c.reading.Ask(func() func() {
		err := archive.Replace(path, write)
		return func() {
			if err != nil {
				c.Say(theme.Bad, "Not written: "+err.Error())
				return
			}
			c.Say(theme.Ink, "Written: "+path)
		}
	})
}
