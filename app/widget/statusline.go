package widget

import "retrostage/app/theme"

// StatusLine is a sheet's one line about what it is doing or could not do.
type StatusLine struct {
	Said   *Words
	Scroll *Scroller // that holds it
}

// Say changes the line.
func (l *StatusLine) Say(tone theme.Tone, text string) {
	l.Said.Tone = tone
	l.Said.Set(text)
	l.Scroll.Reflow()
}
