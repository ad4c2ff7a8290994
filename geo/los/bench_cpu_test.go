//go:build unix

package los

import "syscall"

func init() {
	cpuSeconds = func() float64 {
		var used syscall.Rusage
		if syscall.Getrusage(syscall.RUSAGE_SELF, &used) != nil {
			return 0
		}
		return float64(used.Utime.Nano()+used.Stime.Nano()) / 1e9
	}
}
