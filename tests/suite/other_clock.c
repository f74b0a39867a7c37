/* The clock of a machine that is set otherwise: put before the system's own by the loader, for whatever asks what
   time it is. How long something takes is told as ever. */
#define _GNU_SOURCE
#include <stdlib.h>
#include <sys/syscall.h>
#include <time.h>
#include <unistd.h>

int clock_gettime(clockid_t which, struct timespec *told)
{
    int done = (int)syscall(SYS_clock_gettime, which, told);
    const char *ahead = getenv("CLOCK_AHEAD_S");
    if (done == 0 && which == CLOCK_REALTIME && ahead != NULL)
        told->tv_sec += atol(ahead);
    return done;
}
