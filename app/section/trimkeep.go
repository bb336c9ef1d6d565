package section

import (
	"retrostage/app/theme"
	"retrostage/app/widget"
	"retrostage/reports/assess"
	"retrostage/reports/record"
)

// trimKeep keeps what the running unit reads now as a step of the trim: what came of
// the readings, and the readings themselves.
func trimKeep(p *Pane) *Section {
	said := widget.NewWords("", theme.Small+0.5, false, theme.Ink)
	said.Hide()
	tap := widget.NewTap("Keep the running check's readings as a trim step", func() {
		p.Leave()
		steps, sets, err := assess.KeepTrimStep(p.Job(), p.Report(), p.Now())
		if err == nil {
			if err = p.Enter(record.TrimSets, sets, "", ""); err == nil {
				err = p.Enter(record.TrimSteps, steps, "", "")
			}
		}
		said.Tone = theme.Ink
		words := "Kept, with what was read. Enter what goes in next as \"" + record.Trimmed.Label() + "\"; read again once it has settled."
		if err != nil {
			said.Tone, words = theme.Bad, "Not kept: "+err.Error()
		}
		said.Set(words)
		said.Show()
		p.reflow()
	})
	return fixed("trim step", tap, said)
}
