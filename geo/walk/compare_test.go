package walk

import (
	"encoding/binary"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestCompareGround writes the ground of BenchmarkReach to FARHAIL_BENCH_GROUND,
// for the comparison with GRASS r.walk in .ci/bench.
func TestCompareGround(t *testing.T) {
	dir := os.Getenv("FARHAIL_BENCH_GROUND")
	if dir == "" {
		t.Skip("FARHAIL_BENCH_GROUND names no folder")
	}
	raw := make([]byte, 0, 4*3601*3601)
	for _, z := range fractal(3601, 1).Z {
		raw, _ = binary.Append(raw, binary.LittleEndian, z)
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "walk.raw"), raw, 0o600))
}
