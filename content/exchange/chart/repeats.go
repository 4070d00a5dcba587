package chart

// repeat is where the chart stands between repeat marks and endings.
type repeat struct {
	// from is the first bar that :| repeats, common the end of what all endings share,
	// -1 where there are none; ending the bars of this ending begin.
	from, common, ending int
	// passes is how often the present ending is played, closed that it has its :|.
	passes int
	// nth counts the endings so far.
	nth     int
	endings bool
	closed  bool
}

// openEnding starts an ending that is played so many times.
func (r *reader) openEnding(times, column int) {
	if !r.endings {
		r.endings, r.common = true, len(r.bars)
	} else if r.closed && !r.again(r.from, r.common) {
		return
	}
	r.ending, r.passes, r.closed = len(r.bars), times, false
	r.nth++
}

// repeatHere takes a :|, with how often the bars are played in all, 0 for twice.
func (r *reader) repeatHere(column, times int) {
	if r.endings {
		end := len(r.bars)
		for range r.passes - 1 {
			r.again(r.from, r.common)
			r.again(r.ending, end)
		}
		r.closed = true
		return
	}
	if r.from >= len(r.bars) {
		r.fault(column, "a repeat of nothing", "|: and then bars")
		return
	}
	to := len(r.bars)
	for range max(times, 2) - 1 {
		if !r.again(r.from, to) {
			return
		}
	}
	r.from, r.starts = len(r.bars), true
}

// closeRepeat ends a repeat with endings; a last one that is not written is none.
func (r *reader) closeRepeat() {
	if r.endings && r.closed && r.nth == 1 {
		r.doubt("after the last ending with a repeat there is none to go on with: the bars before it are played once more")
		r.again(r.from, r.common)
	}
	r.endings, r.closed, r.passes, r.nth = false, false, 0, 0
	if len(r.bars) > r.from {
		r.from = len(r.bars)
	}
}
