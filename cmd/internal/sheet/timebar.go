package sheet

import (
	"fmt"
	"image/color"
	"time"

	"farhail/cmd/internal/job"
	"farhail/cmd/internal/overlay"

	"github.com/paulmach/orb"
)

// Inks of the bar of a day: greys apart enough for any printer; every one is named beside
// it too.
var (
	twilightInk = color.RGBA{205, 205, 205, 255}
	darkInk     = color.RGBA{110, 110, 110, 255}
	showsInk    = color.RGBA{0, 114, 178, 255} // Okabe and Ito's blue
)

// Heights of its rows [mm].
const (
	skyRow    = 5
	moonRow   = 4
	signalRow = 7.5
)

// A timebar draws the plan's day: a millimetre is as long a time everywhere.
type timebar struct {
	*flow
	t      *job.Timetable
	x0, x1 float64
}

// timebar lays out the plan's day under a title: light, moon, and when each signal shows
// best.
func (f *flow) timebar() {
	t := f.r.Timetable
	if t == nil {
		return
	}
	f.need(45)
	f.section(overlay.DaySection(f.r))
	b := &timebar{flow: f, t: t, x0: f.page.x0 + labelW + 14, x1: f.page.x1 - 2}
	b.hours()
	b.sky()
	b.moon()
	for _, s := range t.Signals {
		if f.y+signalRow > f.page.y1 {
			f.next(continued(f.heading))
			b.hours()
		}
		b.signal(s)
	}
	f.y += f.gaps.item
}

// at returns where a time lies.
func (b *timebar) at(t *time.Time) float64 {
	share := t.Sub(*b.t.From).Seconds() / b.t.Until.Sub(*b.t.From).Seconds()
	return b.x0 + (b.x1-b.x0)*share
}

// hours writes the clock along the bar.
func (b *timebar) hours() {
	b.font(regular, smallPt)
	h := b.lineHeight()
	for i := 0; i <= 24; i += 2 {
		t := b.t.From.Add(time.Duration(i) * time.Hour)
		x := b.at(&t)
		text := t.Format("15")
		b.put(x-b.width(text)/2, b.y+0.75*h, text)
		b.rule(x, b.y+h, x, b.y+h+1, 0.15)
	}
	b.put(b.page.x0, b.y+0.75*h, "hours of "+b.t.From.Format("02 Jan")+" to "+b.t.Until.Format("02 Jan"))
	b.y += h + 1
}

// title writes what a row is, left of it, and below that in small letters more of it.
func (b *timebar) title(name, more string, height float64) {
	room := b.x0 - b.page.x0 - 3
	b.font(bold, tablePt)
	if more == "" {
		b.put(b.page.x0, b.y+height/2+1, b.short(name, room))
		return
	}
	b.put(b.page.x0, b.y+height/2-0.4, b.short(name, room))
	b.font(regular, 6.5)
	b.put(b.page.x0, b.y+height/2+2.5, b.short(more, room))
}

func (b *timebar) sky() {
	b.title("light", "", skyRow)
	for _, s := range b.t.Light {
		x, w := b.at(s.From), b.at(s.Until)-b.at(s.From)
		ink, letters := white, black
		switch s.Light {
		case job.Twilight:
			ink = twilightInk
		case job.Darkness:
			ink, letters = darkInk, white
		}
		b.ink(ink)
		b.fill(x, b.y, w, skyRow)
		b.ink(letters)
		b.font(regular, smallPt)
		if text := s.Light; b.width(text)+2 < w {
			b.put(x+(w-b.width(text))/2, b.y+skyRow/2+0.9, text)
		}
	}
	b.ink(black)
	b.box(b.x0, b.y, b.x1-b.x0, skyRow, 0.2)
	b.y += skyRow + 0.8
}

func (b *timebar) moon() {
	b.title(fmt.Sprintf("moon, %.0f %% lit", 100*float64(b.t.MoonLit)), "", moonRow)
	b.rule(b.x0, b.y+moonRow/2, b.x1, b.y+moonRow/2, 0.1)
	for _, s := range b.t.Moon {
		x, w := b.at(s.From), b.at(s.Until)-b.at(s.From)
		b.ink(white)
		b.fill(x, b.y+0.7, w, moonRow-1.4)
		b.ink(black)
		b.box(x, b.y+0.7, w, moonRow-1.4, 0.3)
		b.font(regular, 6.5)
		if text := "up"; b.width(text)+2 < w {
			b.put(x+(w-b.width(text))/2, b.y+moonRow/2+0.8, text)
		}
	}
	b.y += moonRow + 0.8
}

// signal draws how far one signal is noticed along the day, as a share of its own best,
// and when it burns.
func (b *timebar) signal(s job.SignalHours) {
	best, when := overlay.BestHour(b.t, s)
	more := "not in these hours"
	if when != nil {
		more = fmt.Sprintf("best %s, %s", when.Format("15:04"), b.r.Words().Distance(best))
	}
	b.title(s.Signal, more, signalRow)
	if b.trial {
		b.y += signalRow
		return
	}
	bottom := b.y + signalRow - 1
	b.ink(showsInk)
	for _, run := range b.shape(s, best, bottom) {
		b.path(run)
		b.pdf.ClosePath()
		b.pdf.DrawPath("F")
	}
	b.ink(black)
	b.rule(b.x0, bottom, b.x1, bottom, 0.15)
	for _, l := range b.t.Lamps {
		if l.Signal == s.Signal {
			b.rule(b.at(l.From), bottom, b.at(l.Until), bottom, 0.9)
			b.font(regular, 6.5)
			text := "lit " + l.From.Format("15:04") + " to " + l.Until.Format("15:04")
			b.put(b.litAt(l, b.width(text)), bottom-0.8, text)
		}
	}
	b.y += signalRow
}

// litAt is where the text of when a lamp is lit begins: behind that time or, where the day
// ends there, before it, in the white beside its bar as far as there is any.
func (b *timebar) litAt(l job.LampSpan, w float64) float64 {
	if x := b.at(l.Until) + 1; x+w < b.x1 {
		return x
	}
	return max(b.x0, b.at(l.From)-1-w)
}

// shape returns the outline under the values of the hours, in parts where some are not
// known. Between two hours it is straight, but steps where a lamp is lit or out.
func (b *timebar) shape(s job.SignalHours, best, bottom float64) []orb.LineString {
	if !(best > 0) {
		return nil
	}
	top := signalRow - 2.2
	var list []orb.LineString
	for i := 1; i < len(s.NoticedM); i++ {
		from, until := float64(s.NoticedM[i-1]), float64(s.NoticedM[i])
		t0, t1 := b.t.From.Add(time.Duration(i-1)*time.Hour), b.t.From.Add(time.Duration(i)*time.Hour)
		for _, l := range b.t.Lamps {
			if l.Signal != s.Signal {
				continue
			}
			if t0.Before(*l.From) {
				t0, from = *l.From, until
			}
			if !t1.Before(*l.Until) {
				t1, until = *l.Until, from
			}
		}
		if !t0.Before(t1) {
			continue // not lit
		}
		if !(from >= 0) || !(until >= 0) || from+until == 0 {
			continue
		}
		x0, x1 := b.at(&t0), b.at(&t1)
		left, right := orb.Point{x0, bottom - top*from/best}, orb.Point{x1, bottom - top*until/best}
		if n := len(list); n > 0 && list[n-1][len(list[n-1])-2] == left {
			last := list[n-1]
			list[n-1] = append(last[:len(last)-1], right, orb.Point{x1, bottom})
			continue
		}
		list = append(list, orb.LineString{{x0, bottom}, left, right, {x1, bottom}})
	}
	return list
}
