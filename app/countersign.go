package app

import (
	"bytes"
	"context"
	"crypto/ed25519"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"fyne.io/fyne/v2"
	toolkit "fyne.io/fyne/v2/widget"

	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/app/words"
	"retrostage/reports/archive"
	"retrostage/reports/workbook"
	"retrostage/reports/workbook/sheetfile"
)

// counterPane is a workbook's one page, and a supervisor's decision under his own key.
// What is signed is the file as it was shown, not as it may have become since.
type counterPane struct {
	b *Bench
	widget.StatusLine
	from, name, remarks, key *toolkit.Entry
	decision                 *widget.Choose
	page                     *fyne.Container
	sign                     *widget.Tap
	work                     widget.Latest
	shown                    []byte // the file whose page stands there
	path                     string // where it was read
}

func (b *Bench) openCountersign() {
	b.pageSheet(980, 720, func(func()) (fyne.CanvasObject, func()) { return b.newCountersign().Scroll, nil })
}

func (b *Bench) newCountersign() *counterPane {
	c := &counterPane{b: b, from: toolkit.NewEntry(), name: toolkit.NewEntry(), remarks: toolkit.NewMultiLineEntry(), key: toolkit.NewEntry(), page: widget.NewColumn(2, 0)}
	c.work.Now = b.exporting.Now
	c.Said = widget.NewWords("", theme.Small+0.5, false, theme.Ink)
	c.from.SetPlaceHolder(words.Say("workbook as it was exported, .xlsx"))
	c.from.OnChanged = func(string) { c.forget() }
	c.name.SetPlaceHolder(words.Say("who decides"))
	c.remarks.SetPlaceHolder(words.Say("remarks; needed to return"))
	c.key.SetText(b.counterKey)
	c.key.SetPlaceHolder(words.Say("file of the supervisor's own key, made where there is none"))
	c.decision = widget.NewChoose(workbook.Decisions, "", func(string) {})
	show := widget.NewTap("Show its page", c.show)
	c.sign = widget.NewTap("Sign this decision", c.write)
	c.sign.Strong = true
	c.sign.Hide()
	small := func(t string) fyne.CanvasObject {
		return widget.NewWords(t, theme.Small+0.5, false, theme.Muted)
	}
	col := widget.NewColumn(6, 12, widget.NewWords("Countersign a workbook", theme.Figure, true, theme.Ink),
		small("Shows the page to sign and puts a decision under a key of the supervisor's own, over the tablet's signature. Whoever has the key can sign as the supervisor."), c.from)
	if b.pickBook != nil {
		col.Add(widget.NewTap("Choose a workbook", func() { b.pickBook(func(path string) { c.from.SetText(path) }) }))
	}
	for _, o := range []fyne.CanvasObject{show, c.Said, c.page, small("Decision"), c.name, c.decision, c.remarks, small("Key"), c.key, c.sign} {
		col.Add(o)
	}
	c.Scroll = widget.NewScroller(col)
	return c
}

// forget takes the page away once it is not that of the file named.
func (c *counterPane) forget() {
	c.shown, c.path = nil, ""
	c.page.RemoveAll()
	c.sign.Hide()
}

// show reads the workbook, writes it again from its record beside the finger, and shows
// the page; only one that is as exported can be signed.
func (c *counterPane) show() {
	path := strings.TrimSpace(c.from.Text)
	c.forget()
	c.Say(theme.Muted, "Reading "+path)
	c.work.Ask(func() func() {
		b, text, state, err := pageOf(path)
		return func() {
			if strings.TrimSpace(c.from.Text) != path {
				return // another was named meanwhile
			}
			if err != nil {
				c.Say(theme.Bad, "Not shown: "+err.Error())
				return
			}
			for _, l := range strings.Split(text, "\n") {
				c.page.Add(widget.NewWords(l, theme.Small+0.5, false, theme.Ink))
			}
			if state != workbook.AsExported {
				c.Say(theme.Bad, "It is "+string(state)+": only a workbook as exported is countersigned.")
				return
			}
			c.shown, c.path = b, path
			c.sign.Show()
			c.Say(theme.Ink, "It is as exported. Read the page, then decide.")
		}
	})
}

// pageOf reads a workbook and gives its page as text.
func pageOf(path string) (b []byte, text string, state workbook.State, err error) {
	if b, err = archive.Read(path, sheetfile.MaxFile); err != nil {
		return nil, "", "", err
	}
	r, err := workbook.Verify(context.Background(), b)
	if err != nil {
		return nil, "", r.State, fmt.Errorf("%s: %w", r.State, err)
	}
	text, err = r.Text()
	return b, text, r.State, err
}

// write signs what was shown, into a new file beside it, and tells what that reads as.
func (c *counterPane) write() {
	file, path := c.shown, c.path
	if file == nil {
		return
	}
	name, decision, remarks, keyFile := strings.TrimSpace(c.name.Text), c.decision.Chosen, strings.TrimSpace(c.remarks.Text), strings.TrimSpace(c.key.Text)
	if name == "" || decision == "" || keyFile == "" {
		c.Say(theme.Bad, "Not signed: name, decision and key are needed.")
		return
	}
	c.Say(theme.Muted, "Signing")
	c.work.Ask(func() func() {
		to, said, err := c.b.countersign(path, file, keyFile, name, decision, remarks)
		return func() {
			if err != nil {
				c.Say(theme.Bad, "Not signed: "+err.Error())
				return
			}
			c.b.counterKey = keyFile
			c.b.Remember()
			c.forget()
			c.Say(theme.Ink, said+" Written: "+to)
		}
	})
}

// countersign writes the signed copy and reads it back: said is what is told of it.
func (b *Bench) countersign(path string, file []byte, keyFile, name, decision, remarks string) (to, said string, err error) {
	to = strings.TrimSuffix(path, filepath.Ext(path)) + "-countersigned.xlsx"
	if _, err := os.Lstat(to); err == nil {
		return "", "", fmt.Errorf("%s is there already", to)
	}
	key, err := workbook.TabletKey(keyFile)
	if err != nil {
		return "", "", fmt.Errorf("key: %w", err)
	}
	var out bytes.Buffer
	if err := workbook.Countersign(context.Background(), &out, file, key, name, decision, remarks, b.now()); err != nil {
		return "", "", err
	}
	r, err := workbook.Verify(context.Background(), out.Bytes())
	switch {
	case err != nil:
		return "", "", err
	case r.State != workbook.Signed || r.Countersigned == nil || r.Countersigned.Key != workbook.KeyID(key.Public().(ed25519.PublicKey)):
		return "", "", fmt.Errorf("what was written reads as %s", r.State)
	}
	if err := archive.Replace(to, func(w io.Writer) error { _, err := w.Write(out.Bytes()); return err }); err != nil {
		return "", "", err
	}
	return to, fmt.Sprintf("Countersigned by %s, %s, key %s.", r.Countersigned.Name, r.Countersigned.Decision, r.Countersigned.Key), nil
}
