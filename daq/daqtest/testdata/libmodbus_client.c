/* Polls input registers of slave 17 on the terminal named with libmodbus, and
 * prints how many exchanges it did, how long they took, and the processor time
 * that they took, both in nanoseconds. */
#include <errno.h>
#include <modbus.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/resource.h>
#include <time.h>

static double processor(void) {
    struct rusage u;
    getrusage(RUSAGE_SELF, &u);
    return 1e9 * (u.ru_utime.tv_sec + u.ru_stime.tv_sec) + 1e3 * (u.ru_utime.tv_usec + u.ru_stime.tv_usec);
}

static double now(void) {
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    return 1e9 * t.tv_sec + t.tv_nsec;
}

int main(int argc, char **argv) {
    uint16_t registers[MODBUS_MAX_READ_REGISTERS];
    if (argc != 4) return 2;
    int count = atoi(argv[2]), exchanges = atoi(argv[3]);
    modbus_t *master = modbus_new_rtu(argv[1], 115200, 'N', 8, 1);
    if (master == NULL || modbus_set_slave(master, 17) == -1 || modbus_connect(master) == -1) {
        fprintf(stderr, "%s: %s\n", argv[1], modbus_strerror(errno));
        return 1;
    }
    double began = now(), used = processor();
    for (int i = 0; i < exchanges; i++)
        if (modbus_read_input_registers(master, 0, count, registers) != count) {
            fprintf(stderr, "exchange %d: %s\n", i, modbus_strerror(errno));
            return 1;
        }
    printf("%d %.0f %.0f\n", exchanges, now() - began, processor() - used);
    return 0;
}
