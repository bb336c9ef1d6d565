package workbook

import (
	"retrostage/reports/record"
)

// wiringPage is the plan for the controls.
func (b *book) wiringPage() (*page, error) {
	p := b.stepPage("Wiring", "Wiring plan", record.Wiring)
	return p, nil
}
