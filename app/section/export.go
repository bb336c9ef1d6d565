package section

import (
	"retrostage/app/theme"
	"retrostage/app/widget"
)

// export writes the workbook for the supervisor and says where it is.
func export(p *Pane) *Section {
	return written(p, "export", "Export the workbook for the supervisor", "Writing the workbook", "Not exported: ", true, func(done func(string, error)) { p.Export(done) })
}

// labelKey writes the label that goes beside the old plate.
func labelKey(p *Pane) *Section {
	return written(p, "label", "Write the label, picture and PDF at true size", "Writing the label", "Not written: ", false, func(done func(string, error)) { p.Label(done) })
}

// consentKey writes the page that the owner signs before work begins.
func consentKey(p *Pane) *Section {
	return written(p, "consent", "Write the consent page for the owner to sign", "Writing the page", "Not written: ", false, func(done func(string, error)) { p.ConsentPage(done) })
}

// orderKey writes what is to be ordered and brought.
func orderKey(p *Pane) *Section {
	return written(p, "order", "Write the order list", "Writing the order list", "Not written: ", false, func(done func(string, error)) { p.OrderList(done) })
}

// ownerKey writes the page that stays with the owner.
func ownerKey(p *Pane) *Section {
	return written(p, "owner's page", "Write the owner's page", "Writing the owner's page", "Not written: ", false, func(done func(string, error)) { p.OwnerPage(done) })
}

// written is a key that writes a paper, and where it was written.
func written(p *Pane, name, key, while, not string, strong bool, write func(done func(path string, err error))) *Section {
	said := widget.NewWords("", theme.Small+0.5, false, theme.Ink)
	said.Hide()
	say := func(tone theme.Tone, text string) {
		said.Tone = tone
		said.Set(text)
		said.Show()
		p.reflow()
	}
	tap := widget.NewTap(key, func() {
		p.Leave()
		say(theme.Muted, while)
		write(func(path string, err error) {
			if err != nil {
				say(theme.Bad, not+err.Error())
				return
			}
			say(theme.Ink, "Written: "+path)
		})
	})
	tap.Strong = strong
	return fixed(name, tap, said)
}
