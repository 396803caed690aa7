/** The code of the threads that compute stations, built beside the command. */
import '@stillmark/pipeline/station-worker';
