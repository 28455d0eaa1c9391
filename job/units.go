package job

// String returns the word of the job file: "mm" or "inch".
func (u Units) String() string {
	if u == Inch {
		return "inch"
	}
	return "mm"
}

func (u Units) scale() scale {
	if u == Inch {
		return inchScale
	}
	return mmScale
}
