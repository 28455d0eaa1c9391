package sheet

// drawing sets the drawing of the piece with its legend and caption.
func (p *page) drawing(d *Drawing) {
	p.need(d.Height + 34)
	p.section("The piece")
	x0, y0 := (p.width-d.Width)/2, p.y
	for _, l := range d.Lines {
		p.pen(l.Pen)
		p.MoveTo(x0+l.Points[0].X, y0+l.Points[0].Y)
		for _, q := range l.Points[1:] {
			p.LineTo(x0+q.X, y0+q.Y)
		}
		if l.Closed {
			p.ClosePath()
		}
		p.DrawPath("D")
	}
	p.SetDashPattern(nil, 0)
	for _, l := range d.Labels {
		box := l.box()
		if l.Ground {
			p.SetFillColor(255, 255, 255)
			p.Rect(x0+box.Min.X-0.2, y0+box.Min.Y-0.1, box.Max.X-box.Min.X+0.4, box.Max.Y-box.Min.Y+0.2, "F")
		}
		s := stretch{text: l.Text, bold: l.Bold}
		p.face(s, l.Size/point)
		p.set(x0+l.At.X-p.measure(s)/2, y0+l.At.Y+0.36*l.Size, s)
	}
	p.y += d.Height + 3
	x := side
	for _, key := range d.Legend {
		p.face(stretch{}, small)
		wide := 14 + p.measure(stretch{text: key.Text}) + 6
		if x+wide > p.width-side {
			x = side
			p.y += 5
		}
		p.pen(key.Pen)
		p.Line(x, p.y+2, x+12, p.y+2)
		p.SetDashPattern(nil, 0)
		p.set(x+14, p.y+3.2, stretch{text: key.Text})
		x += wide
	}
	p.y += 6
	p.paragraph(words(d.Caption), small, 0)
}

func (p *page) pen(pen Pen) {
	look := pens[pen]
	p.SetLineWidth(look.width)
	p.SetDrawColor(look.grey, look.grey, look.grey)
	p.SetDashPattern(look.dash, 0)
}
