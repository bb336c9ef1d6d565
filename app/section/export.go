package section

import (
	"retrostage/app/theme"
	"retrostage/app/widget"
)

// export writes the workbook for the supervisor and says where it is.
func export(p *Pane) *Section {
	said := widget.NewWords("", theme.Small+0.5, false, theme.Ink)
	said.Hide()
	say := func(tone theme.Tone, text string) {
		said.Tone = tone
		said.Set(text)
		said.Show()
		p.reflow()
	}
	write := widget.NewTap("Export the workbook for the supervisor", func() {
		p.Leave()
		say(theme.Muted, "Writing the workbook")
		p.Export(func(path string, err error) {
			if err != nil {
				say(theme.Bad, "Not exported: "+err.Error())
				return
			}
			say(theme.Ink, "Written: "+path)
		})
	})
	write.Strong = true
	return fixed("export", write, said)
}
