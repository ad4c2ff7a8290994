package place

import (
	"bufio"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"farhail/geo/geotest"
)

// loadTracts reads distances from 16 sites to 205 tracts and the tracts' demand.
func loadTracts(t *testing.T) Nearest {
	f, err := os.Open(filepath.Join(geotest.Shared(t), "data", "reference", "cover", "sf-16-sites-205-tracts.csv"))
	require.NoError(t, err)
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	var sites, tracts []string
	for _, r := range rows[1:] {
		sites, tracts = append(sites, r[1]), append(tracts, r[2])
	}
	slices.Sort(sites)
	slices.Sort(tracts)
	sites, tracts = slices.Compact(sites), slices.Compact(tracts)
	require.Len(t, sites, 16)
	n := Nearest{Weights: make([]float64, len(tracts)), DistM: make([][]float64, len(sites))}
	for i := range sites {
		n.DistM[i] = make([]float64, len(tracts))
	}
	for _, r := range rows[1:] {
		v := geotest.Numbers(t, []string{r[0], r[3]})
		site, tract := slices.Index(sites, r[1]), slices.Index(tracts, r[2])
		n.DistM[site][tract], n.Weights[tract] = v[0], v[1]
	}
	return n
}

// loadGraph reads a graph of OR-Library and returns the shortest distances
// between its nodes; of edges that come twice the last counts, as its
// documentation says.
func loadGraph(t *testing.T) Nearest {
	f, err := os.Open(filepath.Join(geotest.Shared(t), "data", "reference", "cover", "pmed1.txt"))
	require.NoError(t, err)
	defer f.Close()
	var v []int
	words := bufio.NewScanner(f)
	words.Split(bufio.ScanWords)
	for words.Scan() {
		x, err := strconv.Atoi(words.Text())
		require.NoError(t, err)
		v = append(v, x)
	}
	nodes := v[0]
	n := Nearest{Weights: make([]float64, nodes), DistM: make([][]float64, nodes)}
	for i := range nodes {
		n.Weights[i], n.DistM[i] = 1, make([]float64, nodes)
		for j := range nodes {
			if i != j {
				n.DistM[i][j] = 1e9
			}
		}
	}
	for e := range v[1] {
		a, b, d := v[3+3*e]-1, v[4+3*e]-1, float64(v[5+3*e])
		n.DistM[a][b], n.DistM[b][a] = d, d
	}
	for k := range nodes {
		for i := range nodes {
			for j := range nodes {
				n.DistM[i][j] = math.Min(n.DistM[i][j], n.DistM[i][k]+n.DistM[k][j])
			}
		}
	}
	return n
}

func instances(t *testing.T) map[string]Nearest {
	return map[string]Nearest{"sf": loadTracts(t), "pmed1": loadGraph(t)}
}

// within turns distances into the sets of those within a radius.
func within(n Nearest, radiusM float64) Problem {
	p := Problem{Weights: n.Weights, Sets: make([]Set, len(n.DistM))}
	for i, row := range n.DistM {
		p.Sets[i] = NewSet(len(row))
		for j, d := range row {
			if d <= radiusM {
				p.Sets[i].Add(j)
			}
		}
	}
	return p
}

func TestPublishedMedians(t *testing.T) {
	load := instances(t)
	median := func(in []string) ([]any, error) {
		n := load[in[0]]
		c, err := Choose(n, Ask{Count: int(geotest.Numbers(t, in[1:])[0])})
		return []any{n.MeanM(c)}, err
	}
	geotest.Check(t, "place-median", median)
	geotest.Check(t, "place-median-all", median)
}

func TestPublishedCoverage(t *testing.T) {
	load := instances(t)
	best := func(in []string) (Problem, Choice, error) {
		v := geotest.Numbers(t, in[1:])
		p := within(load[in[0]], v[0])
		c, err := Choose(p, Ask{Count: int(v[1]), Exact: true})
		return p, c, err
	}
	geotest.Check(t, "place-coverage", func(in []string) ([]any, error) {
		p, c, err := best(in)
		covered := NewSet(len(p.Weights))
		for _, i := range c.Sites() {
			covered.addAll(p.Sets[i])
		}
		n := 0
		for i := range p.Weights {
			if covered.Has(i) {
				n++
			}
		}
		all := len(p.Weights)
		return []any{all - n, 100 * float64(n) / float64(all)}, err
	})
	geotest.Check(t, "place-coverage-all", func(in []string) ([]any, error) {
		_, c, err := best(in)
		if err == nil && (!c.Exact || c.Bound != c.Covered) {
			err = fmt.Errorf("not proven: %+v", c)
		}
		return []any{c.Covered}, err
	})
	geotest.Check(t, "place-fewest", func(in []string) ([]any, error) {
		p := within(load["sf"], geotest.Numbers(t, in)[0])
		sites, unreached, err := Fewest(p)
		covered := NewSet(len(p.Weights))
		for _, i := range sites {
			covered.addAll(p.Sets[i])
		}
		missing := 0
		for i := range p.Weights {
			if !covered.Has(i) {
				missing++
			}
		}
		assert.Equal(t, unreached, missing, "the sites reach all that can be reached")
		return []any{len(sites), unreached}, err
	})
}

// Greedy choice is not the best here from three sites on; the exchange finds
// what full enumeration finds, the bound allows for it.
func TestGreedyIsNotEnough(t *testing.T) {
	p := within(loadTracts(t), 5000)
	greedy, err := Greedy(p, 4)
	require.NoError(t, err)
	assert.Equal(t, 872611.0, greedy.Covered)
	assert.GreaterOrEqual(t, greedy.Bound, 875247.0)
	swapped := exchange(p, Ask{Count: 4}, greedy, gains(p.start(), 16, nil))
	assert.Equal(t, 875247.0, swapped.Covered)
	assert.Equal(t, greedy.Bound, swapped.Bound)
}

func TestFewestAgainstEnumeration(t *testing.T) {
	for seed := range uint64(200) {
		p := instance(seed, 10+int(seed%15), 4+int(seed%6), 0.25)
		all := enumerate(p, len(p.Sets))
		best := len(p.Sets) + 1
		for n := range len(p.Sets) + 1 {
			if enumerate(p, n) == all {
				best = n
				break
			}
		}
		got, _, err := Fewest(p)
		require.NoError(t, err)
		require.Len(t, got, best, "seed %d", seed)
		require.Equal(t, all, reached(p, got), "seed %d", seed)
	}
}
