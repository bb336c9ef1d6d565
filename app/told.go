package app

import "retrostage/app/theme"

import "retrostage/app/widget"

// told is a sheet's one line about what it is doing or could not do.
type told struct {
	said   *widget.Words
	scroll *widget.Scroller // that holds it
}

func (t *told) say(tone theme.Tone, text string) {
	t.said.Tone = tone
	t.said.Set(text)
	t.scroll.Reflow()
}
