// Resolves a tank whose pumps take turns: the mean and the root mean square of the speed while each set of pumps runs.
// nvcc -O3 -arch=native -o resolved resolved.cu && ./resolved tank.txt OUT.csv CELL_M FROM_S TO_S PERIOD_S MASK...
// The cycle of PERIOD_S has as many equal parts as there are masks; bit p of a mask lets pump p run. Averages go from
// FROM_S to TO_S. Method: D3Q27 cumulant lattice Boltzmann (Geier et al. 2015, all higher rates one), f32, pull, two
// buffers, half-way bounce-back, free-slip lid, Smagorinsky 0.05, lattice speed 0.2, outlets with a noise of a tenth.
#include <cstdio>
#include <cstdlib>
#include <cmath>
#include <cstring>
#include <vector>
#include <algorithm>
#include <cuda_runtime.h>
#define CK(x) do{cudaError_t e=(x);if(e!=cudaSuccess){fprintf(stderr,"%s %d\n",cudaGetErrorString(e),__LINE__);exit(1);}}while(0)
struct P{float fx,fy,fz;};
__constant__ P pumps[16];
__device__ __forceinline__ float wt(int i){int x=i/9-1,y=(i/3)%3-1,z=i%3-1;int n=x*x+y*y+z*z;return n==0?8.f/27:n==1?2.f/27:n==2?1.f/54:1.f/216;}
__device__ __forceinline__ float rnd(unsigned a,unsigned b){unsigned h=a*0x9E3779B1u^(b*0x85EBCA77u+0x165667B1u);h^=h>>15;h*=0x2C1B3C6Du;h^=h>>12;h*=0x297A2D39u;h^=h>>15;return (h>>8)*(2.f/16777216.f)-1.f;}
__global__ void init(float*f,size_t n){size_t c=blockIdx.x*(size_t)blockDim.x+threadIdx.x;if(c>=n)return;for(int i=0;i<27;i++)f[i*n+c]=0.f;}
__global__ __launch_bounds__(128) void step(const float*__restrict__ a,float*__restrict__ b,const unsigned char*__restrict__ flag,int nx,int ny,int nz,float tau0,float cs2,float amp,unsigned when,int patch,float*half,float*pa,int sample){
  size_t n=(size_t)nx*ny*nz; size_t c=blockIdx.x*(size_t)blockDim.x+threadIdx.x; if(c>=n)return;
  unsigned char fl=flag[c]; if(fl&1)return;
  int x=c%nx; int y=(c/nx)%ny; int z=c/((size_t)nx*ny);
  float f[27];
  if(!(fl&2)){
    #pragma unroll
    for(int i=0;i<27;i++){int cx=i/9-1,cy=(i/3)%3-1,cz=i%3-1; f[i]=a[i*n+c-cx-(long)cy*nx-(long)cz*nx*ny];}
  }else{
    #pragma unroll
    for(int i=0;i<27;i++){int cx=i/9-1,cy=(i/3)%3-1,cz=i%3-1; int X=x-cx,Y=y-cy,Z=z-cz; int j=i;
      if(Z>=nz){Z=nz-1;j=(cx+1)*9+(cy+1)*3+(-cz+1);}
      bool s=X<0||Y<0||Z<0||X>=nx||Y>=ny; size_t o=0; if(!s){o=(size_t)X+(size_t)nx*(Y+(size_t)ny*Z); s=flag[o]&1;}
      f[i]=s? a[(26-i)*n+c] : a[j*n+o];}
  }
  float rho=1.f,mx=0,my=0,mz=0;
  #pragma unroll
  for(int i=0;i<27;i++){int cx=i/9-1,cy=(i/3)%3-1,cz=i%3-1; rho+=f[i];mx+=cx*f[i];my+=cy*f[i];mz+=cz*f[i];}
  float Fx=0,Fy=0,Fz=0; float ir=1.f/rho; float ux=mx*ir,uy=my*ir,uz=mz*ir; int p=fl>>2;
  if(p){
    P q=pumps[p-1]; float Fm=sqrtf(q.fx*q.fx+q.fy*q.fy+q.fz*q.fz)*amp;
    unsigned k=(unsigned)(x/patch)+4096u*(unsigned)(y/patch)+16777216u*(unsigned)(z/patch);
    Fx=q.fx+Fm*rnd(k,3*when); Fy=q.fy+Fm*rnd(k,3*when+1); Fz=q.fz+Fm*rnd(k,3*when+2);
    ux+=.5f*Fx*ir;uy+=.5f*Fy*ir;uz+=.5f*Fz*ir; }
  #pragma unroll
  for(int i=0;i<27;i++)f[i]+=wt(i);
  #pragma unroll
  for(int k=0;k<9;k++){float m=f[k*3],o=f[k*3+1],q=f[k*3+2]; float A=-1-uz,B=-uz,C=1-uz; f[k*3]=m+o+q; f[k*3+1]=A*m+B*o+C*q; f[k*3+2]=A*A*m+B*B*o+C*C*q;}
  #pragma unroll
  for(int k=0;k<9;k++){int s=(k/3)*9+k%3; float m=f[s],o=f[s+3],q=f[s+6]; float A=-1-uy,B=-uy,C=1-uy; f[s]=m+o+q;f[s+3]=A*m+B*o+C*q;f[s+6]=A*A*m+B*B*o+C*C*q;}
  #pragma unroll
  for(int k=0;k<9;k++){float m=f[k],o=f[k+9],q=f[k+18]; float A=-1-ux,B=-ux,C=1-ux; f[k]=m+o+q;f[k+9]=A*m+B*o+C*q;f[k+18]=A*A*m+B*B*o+C*C*q;}
  #define K(i,j,k) f[(i)*9+(j)*3+(k)]
  float k110=K(1,1,0),k101=K(1,0,1),k011=K(0,1,1),A=K(2,0,0)-K(0,2,0),B=K(2,0,0)-K(0,0,2);
  float tr=(K(2,0,0)+K(0,2,0)+K(0,0,2))/3; float dxx=K(2,0,0)-tr,dyy=K(0,2,0)-tr,dzz=K(0,0,2)-tr;
  float Q=sqrtf(dxx*dxx+dyy*dyy+dzz*dzz+2*(k110*k110+k101*k101+k011*k011))*ir;
  float tau=.5f*(tau0+sqrtf(tau0*tau0+25.455844f*cs2*Q)); float r=1-1/tau;
  k110*=r;k101*=r;k011*=r;A*=r;B*=r;
  float k200=(A+B+rho)/3,k020=k200-A,k002=k200-B;
  K(1,0,0)=-K(1,0,0);K(0,1,0)=-K(0,1,0);K(0,0,1)=-K(0,0,1);
  K(0,0,0)=rho;K(1,1,0)=k110;K(1,0,1)=k101;K(0,1,1)=k011;K(2,0,0)=k200;K(0,2,0)=k020;K(0,0,2)=k002;
  K(1,1,1)=0;K(1,2,0)=0;K(1,0,2)=0;K(2,1,0)=0;K(2,0,1)=0;K(0,1,2)=0;K(0,2,1)=0;
  float k211=(k200*k011+2*k110*k101)*ir,k121=(k020*k101+2*k110*k011)*ir,k112=(k002*k110+2*k101*k011)*ir;
  float k220=(k200*k020+2*k110*k110)*ir,k202=(k200*k002+2*k101*k101)*ir,k022=(k020*k002+2*k011*k011)*ir;
  K(2,1,1)=k211;K(1,2,1)=k121;K(1,1,2)=k112;K(2,2,0)=k220;K(2,0,2)=k202;K(0,2,2)=k022;
  K(1,2,2)=0;K(2,1,2)=0;K(2,2,1)=0;
  K(2,2,2)=(k200*k022+k020*k202+k002*k220+4*(k011*k211+k101*k121+k110*k112))*ir-(16*k110*k101*k011+4*(k101*k101*k020+k011*k011*k200+k110*k110*k002)+2*k200*k020*k002)*ir*ir;
  #pragma unroll
  for(int k=0;k<9;k++){float c0=f[k],c1=f[k+9],c2=f[k+18]; f[k+9]=c0*(1-ux*ux)-2*ux*c1-c2; f[k]=.5f*(c0*(ux*ux-ux)+c1*(2*ux-1)+c2); f[k+18]=.5f*(c0*(ux*ux+ux)+c1*(2*ux+1)+c2);}
  #pragma unroll
  for(int k=0;k<9;k++){int s=(k/3)*9+k%3; float c0=f[s],c1=f[s+3],c2=f[s+6]; f[s+3]=c0*(1-uy*uy)-2*uy*c1-c2; f[s]=.5f*(c0*(uy*uy-uy)+c1*(2*uy-1)+c2); f[s+6]=.5f*(c0*(uy*uy+uy)+c1*(2*uy+1)+c2);}
  #pragma unroll
  for(int k=0;k<9;k++){float c0=f[k*3],c1=f[k*3+1],c2=f[k*3+2]; f[k*3+1]=c0*(1-uz*uz)-2*uz*c1-c2; f[k*3]=.5f*(c0*(uz*uz-uz)+c1*(2*uz-1)+c2); f[k*3+2]=.5f*(c0*(uz*uz+uz)+c1*(2*uz+1)+c2);}
  #pragma unroll
  for(int i=0;i<27;i++)b[i*n+c]=f[i]-wt(i);
  if(sample){ float s2=ux*ux+uy*uy+uz*uz; half[c]+=sqrtf(s2); pa[c]+=sqrtf(s2); pa[n+c]+=s2; }
}

struct Pump{double at[3],dir[3],d,q;};
int main(int ac,char**av){
  if(ac<8){fprintf(stderr,"usage: resolved TANK OUT CELL_M FROM_S TO_S PERIOD_S MASK...\n");return 2;}
  double dx=atof(av[3]),ta=atof(av[4]),te=atof(av[5]),period=atof(av[6]); int nph=ac-7; const double ul=.2,cs=.05,amp=.1;
  double L[3]={}; std::vector<std::vector<double>> boxes; std::vector<Pump> ps; char line[512]; FILE*g=fopen(av[1],"r"); if(!g)return 2;
  while(fgets(line,sizeof line,g)){ Pump p; std::vector<double> b(6);
    if(sscanf(line,"water %lf %lf %lf",L,L+1,L+2)==3)continue;
    if(sscanf(line,"box %lf %lf %lf %lf %lf %lf",&b[0],&b[1],&b[2],&b[3],&b[4],&b[5])==6){boxes.push_back(b);continue;}
    if(sscanf(line,"pump %lf %lf %lf %lf %lf %lf %lf %lf",p.at,p.at+1,p.at+2,p.dir,p.dir+1,p.dir+2,&p.d,&p.q)==8){
      double l=sqrt(p.dir[0]*p.dir[0]+p.dir[1]*p.dir[1]+p.dir[2]*p.dir[2]); for(double&x:p.dir)x/=l; p.q/=3.6e6; ps.push_back(p);} }
  int nx=lround(L[0]/dx),ny=lround(L[1]/dx),nz=lround(L[2]/dx),np=ps.size(); size_t n=(size_t)nx*ny*nz;
  double u0=0; for(auto&p:ps)u0=std::max(u0,p.q/(M_PI*p.d*p.d/4)); double dt=dx*ul/u0; float tau0=3*(1e-6*dt/dx/dx)+.5;
  std::vector<unsigned char> fl(n,0); std::vector<long> cnt(np,0);
  auto id=[&](int x,int y,int z){return (size_t)x+(size_t)nx*(y+(size_t)ny*z);};
  for(int z=0;z<nz;z++)for(int y=0;y<ny;y++)for(int x=0;x<nx;x++){double X=(x+.5)*dx,Y=(y+.5)*dx,Z=(z+.5)*dx; size_t c=id(x,y,z);
    for(auto&q:boxes)if(X>q[0]&&X<q[3]&&Y>q[1]&&Y<q[4]&&Z>q[2]&&Z<q[5])fl[c]=1;
    for(int p=0;p<np&&!(fl[c]&1);p++){auto&q=ps[p]; double ex=X-q.at[0],ey=Y-q.at[1],ez=Z-q.at[2]; double l=ex*q.dir[0]+ey*q.dir[1]+ez*q.dir[2]; double r2=ex*ex+ey*ey+ez*ez-l*l; if(fabs(l)<=.015&&r2<=q.d*q.d/4){fl[c]|=(p+1)<<2;cnt[p]++;break;}}}
  for(int z=0;z<nz;z++)for(int y=0;y<ny;y++)for(int x=0;x<nx;x++){size_t c=id(x,y,z); if(fl[c]&1)continue; bool e=x==0||y==0||z==0||x==nx-1||y==ny-1||z==nz-1; for(int d=0;d<27&&!e;d++)if(fl[id(x+d/9-1,y+(d/3)%3-1,z+d%3-1)]&1)e=true; if(e)fl[c]|=2;}
  P hp[16]={}; for(int p=0;p<np;p++){auto&q=ps[p]; double A=M_PI*q.d*q.d/4,M=q.q*q.q/A,a=M/(cnt[p]*dx*dx*dx)*dt*dt/dx; hp[p]={(float)(a*q.dir[0]),(float)(a*q.dir[1]),(float)(a*q.dir[2])}; printf("pump %d: %ld cells, %.3f m/s\n",p,cnt[p],q.q/A);}
  float*a,*b,*half,*pa; unsigned char*df; CK(cudaMalloc(&a,n*108));CK(cudaMalloc(&b,n*108));CK(cudaMalloc(&half,n*8));CK(cudaMalloc(&pa,n*8*nph));CK(cudaMalloc(&df,n));
  CK(cudaMemcpy(df,fl.data(),n,cudaMemcpyHostToDevice));CK(cudaMemset(a,0,n*108));CK(cudaMemset(b,0,n*108));CK(cudaMemset(half,0,n*8));CK(cudaMemset(pa,0,n*8*nph));
  long N=te/dt,Na=ta/dt; int gr=(n+127)/128,every=std::max(1.,.02/dt),patch=std::max(1,(int)lround(.01/dx)); long renew=std::max(1L,lround(patch/ul));
  std::vector<long> nsp(nph,0),nsh(2,0); int was=-1; printf("cells %zu dt %.3e steps %ld every %d patch %d renewed %ld\n",n,dt,N,every,patch,renew);
  for(long s=0;s<N;s++){
    int ph=(int)(fmod(s*dt/period,1.)*nph),h=2*s>=Na+N; bool sm=s>=Na&&s%every==0;
    if(ph!=was){was=ph;P q[16]={};int m=atoi(av[7+ph]);for(int p=0;p<np;p++)if(m>>p&1)q[p]=hp[p];CK(cudaMemcpyToSymbol(pumps,q,sizeof q));}
    step<<<gr,128>>>(a,b,df,nx,ny,nz,tau0,cs*cs,amp,(unsigned)(s/renew),patch,half+h*n,pa+2*n*ph,sm); nsp[ph]+=sm; nsh[h]+=sm; std::swap(a,b);
    if(s%40000==0){float q;CK(cudaMemcpy(&q,a+13*n+id(nx/2,1,nz/2),4,cudaMemcpyDeviceToHost)); if(q!=q)return 3;}}
  CK(cudaDeviceSynchronize()); std::vector<float> hh(2*n),hq(2*n*nph); double sc=1e3*dx/dt;
  CK(cudaMemcpy(hh.data(),half,n*8,cudaMemcpyDeviceToHost));CK(cudaMemcpy(hq.data(),pa,n*8*nph,cudaMemcpyDeviceToHost));
  // Blocks of 2 cm wholly in water, mm/s: mean speed of both halves of the time, mean and root mean square of each part of the cycle.
  int m=lround(.02/dx); FILE*o=fopen(av[2],"w"); fprintf(o,"x,y,z,first,second"); for(int i=0;i<nph;i++)fprintf(o,",speed%d,felt%d",i,i); fprintf(o,"\n");
  for(int Z=0;Z+m<=nz;Z+=m)for(int Y=0;Y+m<=ny;Y+=m)for(int X=0;X+m<=nx;X+=m){ double H[2]={}; std::vector<double> Q(2*nph,0.); int w=0;
    for(int z=Z;z<Z+m;z++)for(int y=Y;y<Y+m;y++)for(int x=X;x<X+m;x++){size_t c=id(x,y,z);if(fl[c]&1)continue; w++; for(int k=0;k<2;k++)H[k]+=hh[k*n+c]/nsh[k]; for(int i=0;i<2*nph;i++)Q[i]+=hq[i*n+c]/nsp[i/2];}
    if(w<m*m*m)continue; fprintf(o,"%d,%d,%d,%.1f,%.1f",X/m,Y/m,Z/m,H[0]/w*sc,H[1]/w*sc); for(int i=0;i<nph;i++)fprintf(o,",%.1f,%.1f",Q[2*i]/w*sc,sqrt(Q[2*i+1]/w)*sc); fprintf(o,"\n");}
  fclose(o);
}
