/* Debian's wine 8 lacks bcryptprimitives.dll, which Windows has had since 7: Go asks it
 * for random bytes. Built for the test alone, never shipped. */
#include <windows.h>
BOOLEAN NTAPI SystemFunction036(PVOID, ULONG); /* of advapi32: RtlGenRandom */
__declspec(dllexport) BOOL WINAPI ProcessPrng(PBYTE data, SIZE_T size) { return SystemFunction036(data, (ULONG)size); }
