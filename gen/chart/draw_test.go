package chart

import (
	"math"
	"path/filepath"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"propwright/gen/picture"
	"propwright/model"
	"propwright/model/compare"
	"propwright/model/designs/odd"
	"propwright/model/random"
)

// corners are the least and greatest x and y of a shape.
type corners struct{ l, t, r, b float64 }

func cornersOf(o picture.Outline) corners {
	c := corners{math.Inf(1), math.Inf(1), math.Inf(-1), math.Inf(-1)}
	for _, s := range o {
		for i := 0; i+1 < len(s.At); i += 2 {
			c = corners{min(c.l, s.At[i]), min(c.t, s.At[i+1]), max(c.r, s.At[i]), max(c.b, s.At[i+1])}
		}
	}
	return c
}

func wordCorners(f picture.Faces, w picture.Words) corners {
	wide := f.Width(w.Text, w.Weight == "bold", float64(w.Size))
	l := float64(w.X)
	if w.Anchor == "middle" {
		l -= wide / 2
	}
	return corners{l, float64(w.Y - w.Size*0.75), l + wide, float64(w.Y)}
}

// sound requires that a picture can be read: no text is on another or out of
// its box, and each arrow leads from the border of its box to that of its
// target.
func sound(t require.TestingT, c *Chart) {
	p := c.picture()
	f := picture.Faces{}
	figures := map[string]picture.Figure{}
	var texts []corners
	for _, g := range p.Figures {
		figures[g.ID] = g
		for _, s := range g.Shapes {
			if w, ok := s.(picture.Words); ok {
				x := wordCorners(f, w)
				for _, y := range texts {
					apart := x.r <= y.l+0.1 || y.r <= x.l+0.1 || x.b <= y.t || y.b <= x.t
					require.True(t, apart, "%q is on another text", w.Text)
				}
				texts = append(texts, x)
				require.True(t, x.l >= 0 && x.t >= 0 && x.r <= p.W && x.b <= p.H, "%q is in the picture", w.Text)
			}
		}
	}
	border := map[string]picture.Outline{}
	for i, x := range c.Boxes {
		g := figures["box"+strconv.Itoa(i)]
		border[x.ID] = g.Shapes[0].(picture.Path).D
		box := cornersOf(border[x.ID])
		for _, s := range g.Shapes {
			if w, ok := s.(picture.Words); ok {
				in := wordCorners(f, w)
				require.True(t, in.l >= box.l && in.t >= box.t && in.r <= box.r && in.b <= box.b, "%q is in its box", w.Text)
			}
		}
	}
	for i, a := range c.Arrows {
		g := figures["arrow"+strconv.Itoa(i)]
		tail, tip := g.Shapes[0].(picture.Path).D[0].At, g.Shapes[1].(picture.Path).D[0].At
		require.Less(t, away(border[a.From], tail), 0.5, "the tail of %s → %s", a.From, a.To)
		require.Less(t, away(border[a.To], tip), 0.5, "the tip of %s → %s", a.From, a.To)
	}
}

// away is how far a point is from an outline.
func away(o picture.Outline, at []float64) float64 {
	const pieces = 24
	far := math.Inf(1)
	x, y := 0.0, 0.0
	to := func(nx, ny float64) {
		dx, dy := nx-x, ny-y
		t := 0.0
		if dx != 0 || dy != 0 {
			t = min(max(((at[0]-x)*dx+(at[1]-y)*dy)/(dx*dx+dy*dy), 0), 1)
		}
		far = min(far, math.Hypot(x+t*dx-at[0], y+t*dy-at[1]))
		x, y = nx, ny
	}
	for _, s := range o {
		p := s.At
		switch s.Letter {
		case "M":
			x, y = p[0], p[1]
		case "L":
			to(p[0], p[1])
		case "C":
			x0, y0 := x, y
			for i := 1; i <= pieces; i++ {
				t := float64(i) / pieces
				u := 1 - t
				to(u*u*u*x0+3*u*u*t*p[0]+3*u*t*t*p[2]+t*t*t*p[4], u*u*u*y0+3*u*u*t*p[1]+3*u*t*t*p[3]+t*t*t*p[5])
			}
		case "Z":
			to(o[0].At[0], o[0].At[1])
		}
	}
	return far
}

func TestPicturesCanBeRead(t *testing.T) {
	all := odd.Whole(t)
	all["crowd"] = crowd(40, 2)
	all["dense"] = crowd(60, 3)
	all["rows"] = crowd(100, 5)
	for _, d := range all {
		views := []View{{}}
		if len(d.States) < 20 {
			for _, s := range d.States {
				views = append(views, View{State: s.Name})
			}
			for _, b := range d.Remote.Buttons {
				views = append(views, View{Button: b.Name})
			}
		}
		for _, v := range views {
			c, err := New(d, v)
			require.NoError(t, err)
			sound(t, c)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		c, err := New(random.Design(t), View{})
		require.NoError(t, err)
		sound(t, c)
		sound(t, Compare(compare.Compare(random.Design(t), random.Design(t))))
	})
}

// In print the smallest words of every design have 8 points or more, on one
// sheet of A4 but for the designs that are named.
func TestChartsPrint(t *testing.T) {
	several := map[string]int{"words": 2, "lock-keeper": 2, "pier-parade": 6, "market-players": 2}
	all := odd.Whole(t)
	examples, err := filepath.Glob("../../model/designs/examples/*.prop.toml")
	require.NoError(t, err)
	require.NotEmpty(t, examples)
	for _, file := range examples {
		d, err := model.Load(file)
		require.NoError(t, err)
		all[d.Prop.Name] = d
	}
	for name, d := range all {
		c, err := New(d, View{})
		require.NoError(t, err)
		n, smallest := c.Sheets()
		t.Logf("%s: %d sheets, %.1f pt", name, n, smallest)
		assert.GreaterOrEqual(t, smallest, 8-1e-9, name)
		assert.Equal(t, max(several[name], 1), n, name)
	}
}

// What is said of every ambient state has the shape and the fill of one, and of
// no other kind; so has that of every other kind.
func TestListsLookLikeTheirStates(t *testing.T) {
	c, err := New(odd.Whole(t)["lock-keeper"], View{})
	require.NoError(t, err)
	look := func(x *Box) string {
		s := x.border(0, 0, 100, 60)
		front := s[len(s)-1].(picture.Path)
		letters := front.Fill
		for _, step := range front.D {
			letters += step.Letter
		}
		return letters
	}
	kinds := map[string]bool{}
	for i := range c.Boxes {
		x := &c.Boxes[i]
		if x.Shape != EveryShape {
			continue
		}
		kinds[look(x)] = true
		for j := range c.Boxes {
			if y := &c.Boxes[j]; y.Shape != EveryShape {
				assert.Equal(t, x.Of == y.Shape, look(x) == look(y), "%s, %s", x.Head, y.Head)
			}
		}
	}
	assert.Len(t, kinds, 4, "every state and every kind")
}

func BenchmarkSVG(b *testing.B) {
	for what, d := range map[string]*model.Design{"heron": odd.Whole(b)["harbour-heron"], "40 states": crowd(40, 2), "200 states": crowd(200, 2)} {
		b.Run(what, func(b *testing.B) {
			for b.Loop() {
				c, err := New(d, View{})
				require.NoError(b, err)
				_, err = c.SVG()
				require.NoError(b, err)
			}
		})
	}
}
