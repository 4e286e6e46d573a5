/* CVODE (BDF, banded direct) driven over hours of loads; the equations are function pointers.

   Time is counted in hours from the start; in hour h the equations are asked at the fraction t - h.
   `restart`: one byte an hour, 1 begins anew there. Option `stop`: no step straddles an hour; else
   steps run over hours, the equations take the hour floor(t), states at the hours are interpolated.
   With `weights` the unknowns are the conserved quantities, and `unpack` gives the state of each.

   SUNDIALS is that of the scikit-sundae wheel, which has no headers: what is used of it is declared
   here (SUNDIALS 7, double, INDEX for sunindextype, no MPI). */
#include <math.h>
#include <stddef.h>
#include <string.h>
#include <time.h>

typedef struct context *Context;
typedef struct vector *Vector;
typedef struct matrix *Matrix;
typedef struct solver *Solver;
typedef INDEX Index;

int SUNContext_Create(int, Context *);
int SUNContext_Free(Context *);
int SUNContext_ClearErrHandlers(Context);
Vector N_VNew_Serial(Index, Context);
double *N_VGetArrayPointer(Vector);
void N_VDestroy(Vector);
Matrix SUNBandMatrix(Index, Index, Index, Context);
double *SUNBandMatrix_Column(Matrix, Index);
void SUNMatDestroy(Matrix);
Solver SUNLinSol_Band(Vector, Matrix, Context);
int SUNLinSolFree(Solver);
typedef int (*Rhs)(double, Vector, Vector, void *);
typedef int (*Jacobian)(double, Vector, Vector, Matrix, void *, Vector, Vector, Vector);
typedef int (*Weights)(Vector, Vector, void *);
void *CVodeCreate(int, Context);
int CVodeInit(void *, Rhs, double, Vector);
int CVodeReInit(void *, double, Vector);
int CVodeSVtolerances(void *, double, Vector);
int CVodeWFtolerances(void *, Weights);
int CVodeSetUserData(void *, void *);
int CVodeSetLinearSolver(void *, Solver, Matrix);
int CVodeSetJacFn(void *, Jacobian);
int CVodeSetMaxOrd(void *, int);
int CVodeSetMaxNumSteps(void *, long);
int CVodeSetInitStep(void *, double);
int CVodeSetStopTime(void *, double);
int CVode(void *, double, Vector, double *, int);
int CVodeGetNumRhsEvals(void *, long *);
int CVodeGetNumSteps(void *, long *);
void CVodeFree(void **);

enum { BDF = 2, NORMAL = 1, CELL = 2, BAND = 3 };
enum { RTOL, FIRST, ORDER, STOP, STEPS };          /* options */
enum { HOUR, CALLS, JACOBIANS, TAKEN, SECONDS };   /* what comes back */

typedef void (*Equations)(long, long, double, const double *, double *, long);
typedef void (*Mapping)(long, double, const double *, double *, long);
typedef struct {
    Equations rhs, jacobian;
    Mapping weights;
    long address, hour, hours, n, calls, jacobians;
    int pinned;
    double rtol, *blocks;
} User;

static double now(void) {
    struct timespec s;
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &s);
    return s.tv_sec + 1e-9 * s.tv_nsec;
}

static long hour_at(const User *u, double t) {
    if (u->pinned) return u->hour;
    long h = (long)floor(t);
    return h < 0 ? 0 : h >= u->hours ? u->hours - 1 : h;
}

static int rhs(double t, Vector y, Vector out, void *data) {
    User *u = data;
    long h = hour_at(u, t);
    u->calls++;
    u->rhs(u->address, h, t - h, N_VGetArrayPointer(y), N_VGetArrayPointer(out), u->n);
    return 0;
}

static int weigh(Vector y, Vector w, void *data) {
    User *u = data;
    u->weights(u->address, u->rtol, N_VGetArrayPointer(y), N_VGetArrayPointer(w), u->n);
    return 0;
}

/* blocks of 2 x 2 to the cell before, the cell itself and the next, row by row */
static int jacobian(double t, Vector y, Vector f, Matrix A, void *data, Vector a, Vector b, Vector c) {
    User *u = data;
    long h = hour_at(u, t), cells = u->n / CELL;
    u->jacobians++;
    u->jacobian(u->address, h, t - h, N_VGetArrayPointer(y), u->blocks, u->n);
    for (long i = 0; i < cells; i++)
        for (long k = 0; k < 3; k++) {
            long j = i + k - 1;
            if (j < 0 || j >= cells) continue;
            const double *m = u->blocks + 12 * i + 4 * k;
            for (long q = 0; q < CELL; q++) {
                double *column = SUNBandMatrix_Column(A, (Index)(CELL * j + q));
                column[CELL * (i - j) - q] = m[q];
                column[CELL * (i - j) + 1 - q] = m[2 + q];
            }
        }
    return 0;
}

static void count(void *memory, double *found) {
    long v;
    CVodeGetNumSteps(memory, &v);
    found[TAKEN] += v;
}

/* 0, or CVODE's flag with the hour in found[HOUR] */
int march(Equations f, Equations df, long address, long n, long hours, const unsigned char *restart,
          double *states, const double *option, const double *atol, double *found,
          const double *start, Mapping weights, Mapping unpack) {
    Context context;
    SUNContext_Create(0, &context);
    SUNContext_ClearErrHandlers(context);
    double blocks[12 * (n / CELL)];
    User user = {f, df, weights, address, 0, hours, n, 0, 0, option[STOP] != 0.0, option[RTOL], blocks};
    Vector y = N_VNew_Serial(n, context), tolerance = N_VNew_Serial(n, context);
    double *Y = N_VGetArrayPointer(y);
    memcpy(Y, start, n * sizeof(double));
    memcpy(N_VGetArrayPointer(tolerance), atol, n * sizeof(double));
    void *memory = CVodeCreate(BDF, context);
    CVodeInit(memory, rhs, 0.0, y);
    CVodeSetUserData(memory, &user);
    if (weights) CVodeWFtolerances(memory, weigh);
    else CVodeSVtolerances(memory, option[RTOL], tolerance);
    Matrix A = SUNBandMatrix(n, BAND, BAND, context);
    Solver solver = SUNLinSol_Band(y, A, context);
    CVodeSetLinearSolver(memory, solver, A);
    if (df) CVodeSetJacFn(memory, jacobian);
    if (option[ORDER] > 0.0) CVodeSetMaxOrd(memory, (int)option[ORDER]);
    CVodeSetMaxNumSteps(memory, (long)option[STEPS]);
    int flag = 0;
    double begin = now();
    for (long h = 0; h < hours && flag >= 0; h++) {
        double t;
        user.hour = h;
        if (h > 0 && restart[h]) {
            count(memory, found);
            CVodeReInit(memory, (double)h, y);
        }
        if (h == 0 || restart[h]) CVodeSetInitStep(memory, option[FIRST]);
        if (user.pinned) CVodeSetStopTime(memory, h + 1.0);
        flag = CVode(memory, h + 1.0, y, &t, NORMAL);
        found[HOUR] = h;
        if (weights) unpack(address, 0.0, Y, states + (h + 1) * n, n);
        else memcpy(states + (h + 1) * n, Y, n * sizeof(double));
    }
    found[SECONDS] = now() - begin;
    count(memory, found);
    found[CALLS] = user.calls;
    found[JACOBIANS] = user.jacobians;
    CVodeFree(&memory);
    SUNLinSolFree(solver);
    SUNMatDestroy(A);
    N_VDestroy(y);
    N_VDestroy(tolerance);
    SUNContext_Free(&context);
    return flag < 0 ? flag : 0;
}
