// The vehicle lead of a bare board; its handlers are declared in handlers.h.
#ifndef LEAD_H
#define LEAD_H

// End a watch whose lease is over, or whose board is no longer bare; call it every pass.
void lead_keep(void);

#endif
