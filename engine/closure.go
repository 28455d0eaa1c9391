package engine

func (p *program) closures(l *List) []Closure { return nil }
