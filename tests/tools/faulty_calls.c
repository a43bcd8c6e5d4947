/* Laid before the C library: lets the nth call that writes, from `arm` on, fail, be cut in half, or be the last one of
   the process. Built and used by tests/records/test_crash_points.py. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <signal.h>
#include <stdarg.h>
#include <sys/types.h>
#include <unistd.h>

static long left = -1;   /* calls until the one that is struck; -1: none is */
static int how;          /* 0: killed before it; -1: half of it written, then killed; else: this error */
static long seen, nth_of;

void arm(long nth, int mode) { left = nth_of = nth; how = mode; seen = 0; }
long counted(void) { long found = seen; left = -1; return found; }

/* What a call has to do: 0 go on, 1 fail with errno, 2 write half and be killed. A full disk stays full for all that
   grows; any other error comes once. */
static int struck(int grows)
{
    if (left < 0) return 0;
    seen++;
    if (left > 0) { left--; return 0; }
    if (how == ENOSPC && !grows) return 0;
    if (how > 0 && how != ENOSPC && seen > nth_of + 1) return 0;
    if (how == 0) kill(getpid(), SIGKILL);
    if (how == -1) return 2;
    errno = how;
    return 1;
}

#define REAL(name) ({ static typeof(name) *real; if (!real) real = (typeof(name) *)dlsym(RTLD_NEXT, #name); real; })
#define STRIKE(grows, call) do { int what = struck(grows); if (what == 1) return -1; if (what == 2) { (void)!(call); kill(getpid(), SIGKILL); } } while (0)
#define STRUCK(call) STRIKE(1, call)
#define MOVED STRIKE(0, 0)

ssize_t write(int fd, const void *from, size_t count)
{
    if (fd > 2) STRUCK(REAL(write)(fd, from, count / 2));
    return REAL(write)(fd, from, count);
}
ssize_t pwrite(int fd, const void *from, size_t count, off_t at) { STRUCK(REAL(pwrite)(fd, from, count / 2, at)); return REAL(pwrite)(fd, from, count, at); }
ssize_t pwrite64(int fd, const void *from, size_t count, off_t at) { STRUCK(REAL(pwrite64)(fd, from, count / 2, at)); return REAL(pwrite64)(fd, from, count, at); }
int fsync(int fd) { MOVED; return REAL(fsync)(fd); }
int fdatasync(int fd) { MOVED; return REAL(fdatasync)(fd); }
int ftruncate(int fd, off_t size) { STRUCK(0); return REAL(ftruncate)(fd, size); }
int ftruncate64(int fd, off_t size) { STRUCK(0); return REAL(ftruncate64)(fd, size); }
int unlink(const char *path) { MOVED; return REAL(unlink)(path); }
int unlinkat(int folder, const char *path, int flags) { MOVED; return REAL(unlinkat)(folder, path, flags); }
int rename(const char *from, const char *to) { MOVED; return REAL(rename)(from, to); }
int renameat(int one, const char *from, int other, const char *to) { MOVED; return REAL(renameat)(one, from, other, to); }
int linkat(int one, const char *from, int other, const char *to, int flags) { STRUCK(0); return REAL(linkat)(one, from, other, to, flags); }
int link(const char *from, const char *to) { STRUCK(0); return REAL(link)(from, to); }
int fchmod(int fd, mode_t mode) { MOVED; return REAL(fchmod)(fd, mode); }
int open(const char *path, int flags, ...)
{
    va_list rest; va_start(rest, flags); mode_t mode = va_arg(rest, mode_t); va_end(rest);
    if (flags & 0100) STRUCK(0); /* O_CREAT */
    return REAL(open)(path, flags, mode);
}
int open64(const char *path, int flags, ...)
{
    va_list rest; va_start(rest, flags); mode_t mode = va_arg(rest, mode_t); va_end(rest);
    if (flags & 0100) STRUCK(0);
    return REAL(open64)(path, flags, mode);
}
